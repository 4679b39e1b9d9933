// Sampling plans → what a person at a bench reads: bands or none, the numbers, the best plans, why, what next. 80 columns.

import { cautionsFor } from '../adapter/cautions.ts'
import type { PllSetting } from '../adapter/pll.ts'
import type { Band, SamplingPlan } from '../adapter/sampling-plan.ts'
import type { Ink } from './ink.ts'
import { count, measuredRate, plain, relative } from './number-text.ts'
import { printable } from './printable.ts'
import type { SamplingAnswer } from './sampling-report.ts'
import { cautionSection, section, table, type Step } from './section.ts'
import { shellWord } from './shell-word.ts'
import { wrapped } from './wrapped.ts'

/** Plans shown; the rest is in the JSON. */
const MOST_PLANS = 6
/** Bands named one by one. */
const MOST_BANDS = 12
/** Two clocks, the card's and the instrument's, each 100 ppm off and a little more (common practice). */
const USUAL_DOUBT_PPM = 150

export function samplingText(answer: SamplingAnswer, ink: Ink): string {
  const best = answer.found.plans[0] ?? null
  const shown = answer.given ?? best
  const lines = [
    ...headline(answer, ink),
    ...wrapped(signalText(answer), '  ').map(ink.dim),
    '',
    ...comparison(answer, best, ink),
    ...(shown && shown.bands > 0 ? ['', ...bandLines(shown, ink)] : []),
    ...planLines(answer, ink),
    ...section('Why', reasons(answer, shown), ink),
    ...section('What to do next', nextSteps(answer, shown, best), ink),
    ...cautionSection(cautionsFor('capture'), ink),
  ]
  return `${lines.join('\n')}\n`
}

function headline({ given, found, plansFrom }: SamplingAnswer, ink: Ink): string[] {
  const plan = given ?? found.plans[0]
  if (!plan) return [ink.strong('No plan: the clock described cannot reach one clock per dot')]
  const lead = given
    ? `${clockName(plan)}: `
    : holds(plan) || plansFrom === 'multiples'
      ? `Run ${clockName(plan)}: `
      : `Nothing described avoids bands; the nearest is ${clockName(plan)}: `
  const verdict =
    plan.bands > 0
      ? `${count(plan.bands, 'band')}, ${share(plan.disturbedFraction)} of the columns disturbed`
      : `no bands, ${share(plan.eyeMarginFraction)} of the eye left at the worst dot`
  return wrapped(`${lead}${verdict}`, '').map(plan.bands > 0 ? ink.odd : ink.strong)
}

function holds({ bands }: SamplingPlan): boolean {
  return bands === 0
}

function signalText({ file, signal, dotClockAssumed, activeAssumed }: SamplingAnswer): string {
  const from = file === null ? 'given' : file === '-' ? 'standard input' : printable(file)
  const rate = file === null ? plain(signal.dotClockHz.value, 'Hz', 9) : measuredRate(signal.dotClockHz)
  const clock = `dot clock ${rate}${dotClockAssumed ? ' (assumed)' : ''}`
  return `${from}: ${clock}, ${signal.activeDots} dots shown${activeAssumed ? ' (assumed)' : ''}`
}

/** `260 MHz / 16` */
function clockName({ sampleClockHz, clocksPerDot }: SamplingPlan): string {
  return `${plain(sampleClockHz, 'Hz', 9)} / ${Number(clocksPerDot.toFixed(5))}`
}

function share(fraction: number): string {
  return `${(fraction * 100).toFixed(0)} %`
}

/** The clock asked about beside the best one; one of them alone where there is no other. */
function comparison(
  { given, signal, jitter }: SamplingAnswer,
  best: SamplingPlan | null,
  ink: Ink,
): string[] {
  const plans = [given, best].filter((plan) => plan !== null)
  if (plans.length === 0) return []
  const head = ['', ...(given ? ['this clock'] : []), ...(best ? ['best found'] : [])]
  const row = (label: string, of: (plan: SamplingPlan) => string): string[] => [label, ...plans.map(of)]
  const known = [
    ['card', jitter.cardRmsSeconds],
    ['instrument', jitter.instrumentRmsSeconds],
  ] as const
  const jitters = known.flatMap(([name, rms]) => (rms === null ? [] : [`${name} ${plain(rms, 's', 2)} RMS`]))
  return [
    ...table(
      [
        head,
        row('sampling clock', (plan) => plain(plan.sampleClockHz, 'Hz', 9)),
        row('clocks per dot', (plan) => String(Number(plan.clocksPerDot.toFixed(6)))),
        row('error', (plan) => relative(plan.errorPpm / 1e6)),
        row(`slip over ${signal.activeDots} dots`, (plan) => `${plan.slipDots.toFixed(2)} dots`),
        row('bands', (plan) => (plan.bands === 0 ? 'none' : String(plan.bands))),
        row('eye left, worst dot', (plan) => share(plan.eyeMarginFraction)),
        row('survives a clock off by', tolerance),
        row("aim, from a dot's middle", (plan) => `${signed(plan.phaseDots)} dots`),
      ],
      'l'.repeat(head.length),
      ink,
    ),
    ...wrapped(
      `The eye is what is left between the edges of a dot after setup time, the catch of hsync on the ` +
        `adapter's clock${jitters.length > 0 ? `, jitter (${jitters.join(', ')}; three times)` : ''} and slip.`,
      '',
    ).map(ink.dim),
  ]
}

function signed(value: number): string {
  return `${value < 0 ? '-' : '+'}${Math.abs(value).toFixed(2)}`
}

function tolerance({ clockTolerancePpm }: SamplingPlan): string {
  return clockTolerancePpm > 0 ? `${clockTolerancePpm.toFixed(0)} ppm` : 'nothing'
}

function bandLines(plan: SamplingPlan, ink: Ink): string[] {
  const listed = plan.bandDetails.slice(0, MOST_BANDS).map(bandText)
  const more = plan.bands - listed.length
  const text = `${listed.join(', ')}${more > 0 ? `, and ${more} more` : ''}`
  return [ink.strong('Where the bands fall, by column'), ...wrapped(text, '  ')]
}

function bandText({ column, firstColumn, lastColumn }: Band): string {
  return firstColumn === lastColumn ? String(column) : `${column} (${firstColumn}-${lastColumn})`
}

function planLines({ found, plansFrom }: SamplingAnswer, ink: Ink): string[] {
  const { plans, clocksTried, plansTried } = found
  if (plans.length === 0) return []
  const withPll = plans.some(({ pll }) => pll !== null)
  const rows = plans
    .slice(0, MOST_PLANS)
    .map((plan) => [
      (plan.sampleClockHz / 1e6).toFixed(6),
      String(Number(plan.clocksPerDot.toFixed(4))),
      relative(plan.errorPpm / 1e6),
      plan.slipDots.toFixed(2),
      plan.bands === 0 ? '-' : String(plan.bands),
      share(plan.eyeMarginFraction),
      tolerance(plan),
      ...(withPll ? [plan.pll ? pllText(plan.pll) : ''] : []),
    ])
  const head = ['MHz', 'per dot', 'error', 'slip', 'bands', 'eye', 'survives', ...(withPll ? ['PLL'] : [])]
  const from =
    plansFrom === 'pll'
      ? `Best plans of ${plansTried} tried, from ${clocksTried} clocks that the PLL can make`
      : 'Whole multiples of the dots, as an oscillator could be bought for'
  return ['', ink.strong(from), ...table([head, ...rows], `rrrrrrr${withPll ? 'l' : ''}`, ink)]
}

/** `12 MHz x130 /6 /2` */
function pllText({ referenceHz, referenceDivider, multiplier, postDividers }: PllSetting): string {
  const by = referenceDivider === 1 ? '' : ` /${referenceDivider}`
  return `${plain(referenceHz, 'Hz')}${by} x${multiplier}${postDividers.map((divider) => ` /${divider}`).join('')}`
}

function reasons(answer: SamplingAnswer, plan: SamplingPlan | null): string[] {
  if (!plan) return []
  const items: string[] = []
  const ideal = plan.sampleClockHz / answer.signal.dotClockHz.value
  if (plan.bands > 0) {
    items.push(
      `${plain(plan.sampleClockHz, 'Hz', 9)} is ${ideal.toFixed(3)} clocks a dot, not ${Number(plan.clocksPerDot.toFixed(4))}: ` +
        `samples slip by a dot every ${(answer.signal.activeDots / Math.max(plan.slipDots, 1e-9)).toFixed(0)} columns. ` +
        'There a dot is read twice or left out, and its neighbours are read at their edges.',
      'Starting anew at each hsync does not hide the bands: it puts them at the same columns on every scanline.',
    )
  } else {
    items.push(
      `Starting anew at each hsync keeps the slip to ${plan.slipDots.toFixed(2)} dots, less than would show.`,
    )
  }
  if (!Number.isInteger(plan.clocksPerDot))
    items.push('Fractional dividers sample up to one clock late: whole numbers come first in the list.')
  return items
}

function nextSteps(
  answer: SamplingAnswer,
  plan: SamplingPlan | null,
  best: SamplingPlan | null,
): (string | Step)[] {
  const { file, given, plansFrom, clockTolerancePpm } = answer
  const items: (string | Step)[] = []
  if (given && given.bands > 0 && best && best.bands === 0)
    items.push(
      plansFrom === 'pll'
        ? `run ${clockName(best)} instead`
        : `run a whole number of clocks a dot instead, such as ${clockName(best)}`,
    )
  if (!given && best && best.bands > 0)
    items.push(
      'describe a divider with binary places ("fractionBits"), or use another crystal for the adapter',
    )
  if (plansFrom === 'multiples')
    items.push('describe your PLL to find the nearest that it can make: --adapter FILE.json')
  const wanted = clockTolerancePpm ?? USUAL_DOUBT_PPM
  if (plan && plan.bands === 0 && plan.clockTolerancePpm < wanted)
    items.push(
      clockTolerancePpm === null
        ? `this plan has little to spare: crystals of card, adapter and instrument may be ${USUAL_DOUBT_PPM} ppm apart (common practice)`
        : `this plan does not survive the ${clockTolerancePpm} ppm that the description allows its clock`,
    )
  if (answer.dotClockAssumed)
    items.push(
      'the dot clock is assumed: capture at a higher sample rate, since cards do carry other crystals',
    )
  if (file !== null && plan)
    items.push({
      text: 'see it',
      command:
        `rastertap preview ${shellWord(file)} -o preview.png --clock ${plan.sampleClockHz}` +
        (Number.isInteger(plan.clocksPerDot) ? '' : ` --clocks-per-dot ${plan.clocksPerDot}`),
    })
  return items
}
