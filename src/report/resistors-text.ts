// A resistor design → what a person with a parts box reads: the values, how to solder them, every level, what to mind.
// 80 columns.

import { cautionsFor } from '../adapter/cautions.ts'
import type { Part } from '../adapter/resistor-parts.ts'
import type { ResistorDesign } from '../adapter/resistor-pick.ts'
import type { Ink } from './ink.ts'
import { cautionSection, section, table } from './section.ts'
import { wrapped } from './wrapped.ts'

/** @param limitsKnown true where the design was held against limits of the pins */
export function resistorsText(design: ResistorDesign, limitsKnown: boolean, ink: Ink): string {
  const lines = [
    ...headline(design, ink),
    ...wrapped(surroundings(design), '  ').map(ink.dim),
    '',
    ...drawing(design),
    '',
    ...resistorTable(design, ink),
    '',
    ...levelTable(design, ink),
    '',
    ...currentTable(design, ink),
    ...section('What to mind', design.warnings, ink),
    ...section('Why', reasons(design), ink),
    ...section('What to do next', nextSteps(design, limitsKnown), ink),
    ...cautionSection(cautionsFor('resistors'), ink),
  ]
  return `${lines.join('\n')}\n`
}

function headline({ network, picked, series, tolerancePercent }: ResistorDesign, ink: Ink): string[] {
  const what =
    network.kind === 'weighted'
      ? `${network.bits} ${network.bits === 1 ? 'bit' : 'bits'} per colour`
      : network.kind === 'rgbi'
        ? 'Red, green, blue, shared intensity'
        : 'Video and intensity'
  const values = listed(picked.parts.map(partText))
  const off = `worst level off by ${millivolts(picked.worstErrorVolts)}`
  return wrapped(`${what}: ${values} (${series}, ${tolerancePercent} %), ${off}`, '').map(ink.strong)
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}

function surroundings({ electrics }: ResistorDesign): string {
  const { supplyVolts, loadOhms, fullScaleVolts, pinOhms } = electrics
  const pin = pinOhms > 0 ? `pins of ${pinOhms} ohm` : 'pins without impedance of their own'
  return `${supplyVolts} V ${pin}, ${loadOhms} ohm in the monitor, ${fullScaleVolts} V full scale`
}

/** `470`, `330 + 82`, `1000 || 680`, in ohms. */
function valuesText({ values, joined }: Part): string {
  return values.map(ohmsText).join(joined === 'series' ? ' + ' : ' || ')
}

function partText(part: Part): string {
  return `${valuesText(part)} ohm`
}

function ohmsText(ohms: number): string {
  return ohms >= 1e6 ? `${ohms / 1e6}M` : ohms >= 10e3 ? `${ohms / 1e3}k` : String(ohms)
}

function millivolts(volts: number): string {
  return `${(volts * 1e3).toFixed(1)} mV`
}

function signedMillivolts(volts: number): string {
  // what rounds to nothing has no sign
  const sign = Math.abs(volts) < 0.05e-3 ? '' : volts > 0 ? '+' : '-'
  return `${sign}${millivolts(Math.abs(volts))}`
}

/** What each value of the network joins. */
function valueNames({ network }: ResistorDesign): string[] {
  if (network.kind === 'rgbi') return ['colour pin', 'intensity pin']
  if (network.kind === 'mono') return ['video pin', 'intensity pin']
  return Array.from({ length: network.bits }, (_, n) => `bit ${network.bits - 1 - n}`)
}

/** ASCII, so that any terminal shows it. */
function drawing(design: ResistorDesign): string[] {
  const { network, picked } = design
  const names = valueNames(design)
  const values = picked.parts.map(valuesText)
  const [nameWidth, valueWidth] = [names, values].map((words) =>
    Math.max(...words.map(({ length }) => length)),
  )
  const rows = names.map(
    (name, n) => `  ${name.padEnd(nameWidth!)} --[ ${values[n]!.padStart(valueWidth!)} ]--+`,
  )
  const to =
    network.kind === 'weighted'
      ? 'red, green or blue'
      : network.kind === 'rgbi'
        ? 'its colour'
        : 'each colour'
  rows[0] += `-- ${to} of the VGA connector`
  const note =
    network.kind === 'weighted'
      ? 'Once for each of the three colours.'
      : network.kind === 'rgbi'
        ? 'One resistor from each colour pin to its colour, three from the intensity pin.'
        : 'One pair for each of the three colours: a grey picture.'
  const pairs = picked.parts.some(({ values: bought }) => bought.length > 1)
  return [...rows, `  ${note}`, ...(pairs ? ['  Pairs: + in series, || in parallel.'] : [])]
}

function resistorTable(design: ResistorDesign, ink: Ink): string[] {
  const { ideal, picked } = design
  const rows = valueNames(design).map((name, n) => [
    name,
    `${ideal.resistorsOhms[n]!.toFixed(1)} ohm`,
    partText(picked.parts[n]!),
    picked.parts[n]!.values.length > 1 ? `= ${picked.parts[n]!.ohms.toFixed(1)}` : '',
    `${picked.resistorMilliwatts[n]!.toFixed(1)} mW`,
  ])
  return table([['resistor', 'ideal', 'picked', '', 'at most'], ...rows], 'lrrlr', ink)
}

function levelTable({ picked, network, tolerancePercent }: ResistorDesign, ink: Ink): string[] {
  const bits = network.kind === 'weighted' ? network.bits : 2
  const rows = picked.levels.map(({ code, volts, idealVolts, minVolts, maxVolts }) => [
    code.toString(2).padStart(bits, '0'),
    volts.toFixed(3),
    idealVolts.toFixed(3),
    signedMillivolts(volts - idealVolts),
    `${minVolts.toFixed(3)} to ${maxVolts.toFixed(3)}`,
  ])
  return table([['level', 'volts', 'ideal', 'off by', `within ${tolerancePercent} %`], ...rows], 'lrrrr', ink)
}

function currentTable({ picked, electrics }: ResistorDesign, ink: Ink): string[] {
  const rows = picked.pins.map(({ pin, sourceMilliamps, sinkMilliamps }) => [
    pin,
    `${sourceMilliamps.toFixed(1)} mA`,
    `${sinkMilliamps.toFixed(1)} mA`,
  ])
  return [
    ...table([['pin', 'delivers', 'sinks'], ...rows], 'lrr', ink),
    ...wrapped(
      `All pins of the three colours together: ${picked.maxTotalMilliamps.toFixed(1)} mA, ` +
        `${picked.powerMilliwatts.toFixed(0)} mW from ${electrics.supplyVolts} V at most.`,
      '',
    ),
  ]
}

function reasons({ ideal, electrics, network, brown }: ResistorDesign): string[] {
  const { supplyVolts, loadOhms, fullScaleVolts } = electrics
  const items = [
    `${supplyVolts} V must come down to ${fullScaleVolts} V across ${loadOhms} ohm: that takes ${ideal.parallelOhms.toFixed(1)} ohm ` +
      'for all pins of a colour in parallel, shared out so that each bit weighs half of the one above. A low pin is a ' +
      'path to ground and belongs to the sum: never leave it open.',
    `A cable adds about half an ohm to the load (common practice); --load ${loadOhms + 0.5} shows what it changes.`,
  ]
  if (network.kind === 'rgbi')
    items.push('Levels hold for greys: with several pins behind one impedance the colours couple a little.')
  if (brown) items.push(brown.explanation)
  return items
}

function nextSteps({ picked, network, electrics }: ResistorDesign, limitsKnown: boolean): string[] {
  const top = picked.levels.at(-1)!
  const items = [
    `before a monitor is connected, measure every level into a ${electrics.loadOhms} ohm resistor: ` +
      `${top.volts.toFixed(2)} V for ${network.kind === 'weighted' ? 'all bits high' : 'both pins high'}, never more than ` +
      `${electrics.fullScaleVolts} V`,
  ]
  if (!limitsKnown)
    items.push(
      `compare the currents of the pins with the data sheet, or let --adapter do it: its "output" takes ` +
        'maxPinMilliamps and maxTotalMilliamps',
    )
  if (picked.worstErrorVolts > electrics.fullScaleVolts / 50)
    items.push('closer levels: --series E96, or two resistors for one with --combinations')
  return items
}
