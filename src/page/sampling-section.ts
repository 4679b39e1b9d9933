// Sampling plans: which clock shows the picture without bands, what other clocks would do, and their bands drawn over the
// picture.

import type { AdapterDescription } from '../adapter/adapter-description.ts'
import { planForClock } from '../adapter/plan-search.ts'
import type { SampledSignal, SamplingPlan } from '../adapter/sampling-plan.ts'
import { count, plain, relative } from '../report/number-text.ts'
import type { SamplingAnswer } from '../report/sampling-report.ts'
import { markup, type Markup, type Piece } from './markup.ts'
import type { Found, PagePicture } from './page-subject.ts'
import { shown, withMicro } from './quantity.ts'
import { missingNote, section, table } from './section.ts'

/** Plans of the search that are listed. */
const MOST_FOUND = 4
/**
 * Clocks that adapters often have, hertz (common practice): oscillators and usual settings of small parts. They show
 * what a clock does that was not chosen for the card.
 */
const USUAL_CLOCKS_HZ = [48e6, 100e6, 120e6, 125e6, 133e6, 150e6, 200e6, 250e6, 270e6]
/** Bands drawn one by one. */
const MOST_BANDS = 200

/** A plan as a row: where it comes from, and whether its bands are drawn first. */
interface ListedPlan {
  plan: SamplingPlan
  from: string
}

export function samplingSection(
  sampling: Found<SamplingAnswer>,
  adapter: AdapterDescription,
  picture: Found<PagePicture>,
): Markup {
  const title = 'Sampling plan'
  if (sampling.value === null) return section('sampling', title, missingNote(sampling.missing))
  const answer = sampling.value
  const plans = listedPlans(answer, adapter)
  const drawn = firstDrawn(plans, answer)
  return section(
    'sampling',
    title,
    markup`<p class="lead">${headline(answer)}</p>`,
    markup`<p>Dot clock ${withMicro(plain(answer.signal.dotClockHz.value, 'Hz', 8))}${answer.dotClockAssumed && ' (assumed)'}, ${answer.signal.activeDots} dots shown${answer.activeAssumed && ' (assumed)'}. An adapter samples on its own clock, starting anew at each hsync; where the samples slip by a whole dot, a vertical band shows. Choose a clock to see where its bands fall.</p>`,
    picture.value && bandPicture(plans, drawn, answer.signal, picture.value),
    planTable(plans, drawn),
    markup`<p class="fine">Eye left: what remains between the edges of the worst dot after slip, the catch of hsync, setup time and three times the jitter. Survives: how far either clock may be off. ${
      answer.plansFrom === 'pll'
        ? 'Clocks found are those that the described PLL can make.'
        : 'Clocks found are whole multiples of the dot clock, as an oscillator could be bought for; describe your PLL with --adapter to find what it can make.'
    }</p>`,
  )
}

function headline({ given, found }: SamplingAnswer): string {
  const plan = given ?? found.plans[0]
  if (!plan) return 'No plan: the clock described cannot reach one clock per dot.'
  const best = found.plans[0]
  const effect =
    plan.bands > 0
      ? `${count(plan.bands, 'band')}, ${percentText(plan.disturbedFraction)} of the columns disturbed`
      : `no bands, ${percentText(plan.eyeMarginFraction)} of the eye left at the worst dot`
  const instead =
    given && given.bands > 0 && best && best.bands === 0 ? ` Run ${clockText(best)} instead.` : ''
  return given
    ? `${clockText(plan)}: ${effect}.${instead}`
    : `${plan.bands > 0 ? 'Nothing avoids bands; the nearest is' : 'Run'} ${clockText(plan)}: ${effect}.`
}

function clockText({ sampleClockHz, clocksPerDot }: SamplingPlan): string {
  return `${plain(sampleClockHz, 'Hz', 9)} / ${Number(clocksPerDot.toFixed(5))}`
}

function percentText(fraction: number): string {
  return `${(fraction * 100).toFixed(0)} %`
}

function listedPlans({ given, found, signal }: SamplingAnswer, adapter: AdapterDescription): ListedPlan[] {
  const { pll: _pll, clockHz: _clock, clocksPerDot: _perDot, ...rest } = adapter
  const usual = USUAL_CLOCKS_HZ.filter((clockHz) => clockHz >= signal.dotClockHz.value)
  return [
    ...(given ? [{ plan: given, from: 'asked about' }] : []),
    ...found.plans.slice(0, MOST_FOUND).map((plan) => ({ plan, from: 'found' })),
    ...usual
      .filter((clockHz) => clockHz !== given?.sampleClockHz)
      .map((clockHz) => ({ plan: planForClock(signal, clockHz, rest), from: 'often at hand' })),
  ]
}

/** The clock that was asked about; else one that is often at hand and shows a few bands, as an example of them. */
function firstDrawn(plans: readonly ListedPlan[], { given }: SamplingAnswer): number {
  if (given) return 0
  const bands = plans.map(({ plan }) =>
    plan.bands > 0 && plan.disturbedFraction < 1 ? plan.bands : Infinity,
  )
  const fewest = Math.min(...bands)
  return fewest === Infinity ? 0 : bands.indexOf(fewest)
}

function planTable(plans: readonly ListedPlan[], drawn: number): Markup {
  const columns = ['clock', 'per dot', 'error', 'slip', 'bands', 'eye left', 'survives', 'why listed']
  return table(
    'Sampling clocks and their bands',
    columns.map((title, i) => ({ title, isNumber: i > 0 && i < columns.length - 1 })),
    plans.map(({ plan, from }, index): Piece[] => [
      markup`<label><input type="radio" name="plan" value="${index}" data-plan="${index}"${index === drawn && markup` checked`}> ${shown(plan.sampleClockHz, `${(plan.sampleClockHz / 1e6).toFixed(6).replace(/\.?0+$/, '')} MHz`)}</label>`,
      shown(plan.clocksPerDot, String(Number(plan.clocksPerDot.toFixed(4)))),
      shown(plan.errorPpm, relative(plan.errorPpm / 1e6)),
      shown(plan.slipDots, plan.slipDots.toFixed(2)),
      shown(plan.bands, plan.bands === 0 ? 'none' : String(plan.bands)),
      shown(plan.eyeMarginFraction, percentText(plan.eyeMarginFraction)),
      shown(
        plan.clockTolerancePpm,
        plan.clockTolerancePpm > 0 ? `${plan.clockTolerancePpm.toFixed(0)} ppm` : 'nothing',
      ),
      from,
    ]),
  )
}

/** The picture is on the page once: the script puts it under the bands. */
function bandPicture(
  plans: readonly ListedPlan[],
  drawn: number,
  { activeDots }: SampledSignal,
  { frame }: PagePicture,
): Markup {
  const aspect = (frame.widthPixels * frame.pixelAspect) / frame.heightPixels
  return markup`<figure class="bands" style="--aspect: ${aspect}"><div class="sheet"><img alt="" data-frame-again hidden>
${plans.map(({ plan }, index) => bandLayer(plan, index, index === drawn, activeDots))}
</div><figcaption aria-live="polite">${plans.map(({ plan }, index) => markup`<span data-plan-text="${index}"${index !== drawn && markup` hidden`}>${bandText(plan)}</span>`)}</figcaption></figure>`
}

function bandLayer(plan: SamplingPlan, index: number, isShown: boolean, activeDots: number): Markup {
  const bands = plan.disturbedFraction >= 1 ? [] : plan.bandDetails.slice(0, MOST_BANDS)
  return markup`<svg viewBox="0 0 ${activeDots} 100" preserveAspectRatio="none" aria-hidden="true" data-plan-bands="${index}"${!isShown && markup` hidden`}>${
    plan.disturbedFraction >= 1
      ? markup`<rect class="band" width="${activeDots}" height="100"/>`
      : bands.map(
          ({ firstColumn, widthDots, column }) =>
            markup`<rect class="band" x="${firstColumn}" width="${widthDots}" height="100"/><path class="band-middle" d="M${column + 0.5} 0V100"/>`,
        )
  }</svg>`
}

function bandText(plan: SamplingPlan): string {
  const name = clockText(plan)
  if (plan.bands === 0) return `${name}: no bands, the picture as it is.`
  if (plan.disturbedFraction >= 1) return `${name}: bands everywhere, no column is read safely.`
  const columns = plan.bandDetails
    .slice(0, 12)
    .map(({ column, firstColumn, lastColumn }) =>
      firstColumn === lastColumn ? String(column) : `${column} (${firstColumn}–${lastColumn})`,
    )
  const more = plan.bands - columns.length
  return `${name}: ${count(plan.bands, 'band')}, at columns ${columns.join(', ')}${more > 0 ? ` and ${more} more` : ''}.`
}
