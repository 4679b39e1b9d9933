// The whole answer to "which resistors?": ideal values, parts to buy, every level with its range, currents, power,
// warnings, and what brown needs.

import { USUAL_TOLERANCE_PERCENT, nearestValue, SMALLEST_OHMS, type SeriesName } from './e-series.ts'
import { cornerExtremes, type Extremes } from './resistor-corners.ts'
import {
  idealResistors,
  layNetwork,
  outputVolts,
  placeValues,
  solveNetwork,
  USUAL_ELECTRICS,
  type Electrics,
  type IdealResistors,
  type Network,
  type NetworkKind,
} from './resistor-network.ts'
import { singlePart, type Part } from './resistor-parts.ts'
import { searchParts, worstErrorVolts, type FullScaleRule } from './resistor-search.ts'

/** What the builder has decided; the rest has usual values. */
export interface ResistorRequest {
  network: NetworkKind
  electrics?: Partial<Electrics>
  /** Default E24. */
  series?: SeriesName
  /** Default: what is usual in the series. */
  tolerancePercent?: number
  combinations?: boolean
  /** Default `nominal`: parts as marked never exceed full scale. */
  fullScale?: FullScaleRule
  maxPinMilliamps?: number
  maxTotalMilliamps?: number
}

/** One level of an output. */
export interface Level {
  /** 0 up to full scale. `rgbi`: 2 for colour, 1 for intensity; `mono`: 2 for video, 1 for intensity. */
  code: number
  volts: number
  idealVolts: number
  /** Over the tolerance of all resistors, and in a shared network over what the other outputs show. */
  minVolts: number
  maxVolts: number
}

/** One of the 16 colours of an RGBI network; codes count I R G B from bit 3 down. */
export interface ColourLevels {
  code: number
  redVolts: number
  greenVolts: number
  blueVolts: number
}

export interface PinCurrent {
  pin: string
  /** Most that it delivers and sinks, over codes and tolerance. */
  sourceMilliamps: number
  sinkMilliamps: number
}

export interface PickedResistors {
  /** One for each value, most significant first; of a pair, what it comes to. */
  resistorsOhms: number[]
  parts: Part[]
  levels: Level[]
  /** Largest error of a level, parts as marked. */
  worstErrorVolts: number
  /** The largest of `pins`, delivered or sunk. */
  maxPinMilliamps: number
  pins: PinCurrent[]
  /** Most that all pins of the adapter (all three colours) deliver together. */
  maxTotalMilliamps: number
  /** Most in one resistor of each value. */
  resistorMilliwatts: number[]
  /** Most that the supply gives to resistors and loads, all three colours. */
  powerMilliwatts: number
  /** All 16 colours of an RGBI network, else null. */
  colours: ColourLevels[] | null
}

/** Brown is dark yellow with green at half: what an RGBI network must be given to show it. */
export interface BrownNeeds {
  explanation: string
  /** Resistor from the green output to an extra pin that is low for code 6 and open otherwise. */
  pullDownOhms: number
  pullDownMilliamps: number
}

export interface ResistorDesign {
  network: NetworkKind
  electrics: Electrics
  series: SeriesName
  tolerancePercent: number
  ideal: IdealResistors
  picked: PickedResistors
  brown: BrownNeeds | null
  warnings: string[]
}

/** @throws {RangeError} full scale is not below the supply, or a value is not positive */
export function designResistors(request: ResistorRequest): ResistorDesign {
  const electrics: Electrics = { ...USUAL_ELECTRICS, ...request.electrics }
  checkElectrics(electrics)
  const series = request.series ?? 'E24'
  const tolerancePercent = request.tolerancePercent ?? USUAL_TOLERANCE_PERCENT[series]
  const ideal = idealResistors(request.network, electrics)
  const warnings: string[] = []
  ideal.resistorsOhms.forEach((ohms, n) => {
    if (ohms <= 0)
      warnings.push(
        `the pins' own ${electrics.pinOhms} ohm leave nothing for resistor ${n + 1}: full scale is out of reach`,
      )
  })
  const rules = {
    series,
    tolerancePercent,
    combinations: request.combinations ?? false,
    fullScale: request.fullScale ?? 'nominal',
  }
  const parts =
    searchParts(request.network, electrics, rules) ??
    ideal.resistorsOhms.map((ohms) => singlePart(nearestValue(series, Math.max(ohms, SMALLEST_OHMS))))
  const picked = describe(request.network, electrics, parts, tolerancePercent)
  return {
    network: request.network,
    electrics,
    series,
    tolerancePercent,
    ideal,
    picked,
    brown: request.network.kind === 'rgbi' ? brownNeeds(picked, electrics) : null,
    warnings: [...warnings, ...warningsOf(picked, electrics, request)],
  }
}

function checkElectrics(electrics: Electrics): void {
  const { supplyVolts, loadOhms, fullScaleVolts, pinOhms } = electrics
  if (!(supplyVolts > 0 && loadOhms > 0 && fullScaleVolts > 0 && pinOhms >= 0))
    throw new RangeError('supply, load and full scale must be above 0, and pin impedance not below')
  if (!(fullScaleVolts < supplyVolts))
    throw new RangeError(`full scale of ${fullScaleVolts} V is not below the supply of ${supplyVolts} V`)
}

function describe(
  kind: NetworkKind,
  electrics: Electrics,
  parts: Part[],
  tolerancePercent: number,
): PickedResistors {
  const network = layNetwork(kind)
  const resistorsOhms = parts.map(({ ohms }) => ohms)
  const extremes = cornerExtremes(network, resistorsOhms, electrics, tolerancePercent)
  const pins = network.pins.map((pin, n) => ({
    pin,
    sourceMilliamps: extremes.pinSourceAmperes[n]! * 1e3,
    sinkMilliamps: extremes.pinSinkAmperes[n]! * 1e3,
  }))
  const maxTotalMilliamps = extremes.totalAmperes * network.copies * 1e3
  return {
    resistorsOhms,
    parts,
    levels: levelsOf(kind, network, electrics, resistorsOhms, extremes),
    worstErrorVolts: worstErrorVolts(network, resistorsOhms, electrics),
    maxPinMilliamps: Math.max(...pins.flatMap((pin) => [pin.sourceMilliamps, pin.sinkMilliamps])),
    pins,
    maxTotalMilliamps,
    resistorMilliwatts: extremes.resistorWatts.map((watts) => watts * 1e3),
    powerMilliwatts: maxTotalMilliamps * electrics.supplyVolts,
    colours: kind.kind === 'rgbi' ? coloursOf(network, electrics, resistorsOhms) : null,
  }
}

/** Which level, 0 to 3 or more, an output is meant to show for a code of the whole network. */
function levelOf(kind: NetworkKind, code: number, output: number): number {
  return kind.kind === 'rgbi' ? 2 * ((code >> (2 - output)) & 1) + (code >> 3) : code
}

function levelsOf(
  kind: NetworkKind,
  network: Network,
  electrics: Electrics,
  resistorsOhms: readonly number[],
  extremes: Extremes,
): Level[] {
  const transfer = solveNetwork(network, placeValues(network, resistorsOhms), electrics)
  return Array.from({ length: 2 ** network.values }, (_, level) => {
    // greys stand for a shared network: every colour pin alike
    const shown = kind.kind === 'rgbi' ? (level & 1) * 8 + (level >> 1) * 7 : level
    const found: Level = {
      code: level,
      volts: outputVolts(network, transfer, shown, 0),
      idealVolts: (electrics.fullScaleVolts * level) / (2 ** network.values - 1),
      minVolts: Infinity,
      maxVolts: -Infinity,
    }
    for (let code = 0; code < 2 ** network.pins.length; code++) {
      network.outputs.forEach((_output, output) => {
        if (levelOf(kind, code, output) !== level) return
        found.minVolts = Math.min(found.minVolts, extremes.minVolts[code]![output]!)
        found.maxVolts = Math.max(found.maxVolts, extremes.maxVolts[code]![output]!)
      })
    }
    return found
  })
}

function coloursOf(network: Network, electrics: Electrics, resistorsOhms: readonly number[]): ColourLevels[] {
  const transfer = solveNetwork(network, placeValues(network, resistorsOhms), electrics)
  return Array.from({ length: 2 ** network.pins.length }, (_, code) => ({
    code,
    redVolts: outputVolts(network, transfer, code, 0),
    greenVolts: outputVolts(network, transfer, code, 1),
    blueVolts: outputVolts(network, transfer, code, 2),
  }))
}

/**
 * A resistor from the green output to ground halves its level when it equals all that already hangs on the output in
 * parallel (Thevenin's theorem; pin impedance aside).
 */
function brownNeeds(
  { resistorsOhms, colours }: PickedResistors,
  { loadOhms, pinOhms }: Electrics,
): BrownNeeds {
  const siemens = resistorsOhms.reduce((sum, ohms) => sum + 1 / (ohms + pinOhms), 1 / loadOhms)
  const pullDownOhms = 1 / siemens
  const darkYellowVolts = colours![6]!.greenVolts
  return {
    explanation:
      'Code 6 (red and green on, blue and intensity off) comes out as dark yellow, both at 2/3. The monitors these ' +
      'cards were made for halve green for this one code and show brown. No choice of these resistors does that, since ' +
      'the intensity pin lifts all three colours at once. Either give green an intensity pin of its own and send ' +
      'green off, intensity on for code 6; or add a pin that is low for code 6, open otherwise, from the green output ' +
      `through about ${pullDownOhms.toFixed(0)} ohm. Code 14 (bright yellow) stays as it is.`,
    pullDownOhms,
    pullDownMilliamps: (darkYellowVolts / 2 / pullDownOhms) * 1e3,
  }
}

function warningsOf(
  { levels, maxPinMilliamps, maxTotalMilliamps, pins }: PickedResistors,
  { fullScaleVolts }: Electrics,
  request: ResistorRequest,
): string[] {
  const warnings: string[] = []
  const top = levels.at(-1)!
  const percent = (volts: number): string => `${((volts / fullScaleVolts - 1) * 100).toFixed(1)} %`
  if (top.volts > fullScaleVolts * (1 + 1e-9))
    warnings.push(
      `the highest level is ${top.volts.toFixed(3)} V, ${percent(top.volts)} above full scale, with parts as marked`,
    )
  else if (top.maxVolts > fullScaleVolts * (1 + 1e-9))
    warnings.push(
      `parts at the end of their tolerance reach ${top.maxVolts.toFixed(3)} V, ${percent(top.maxVolts)} above full ` +
        'scale; parts of closer tolerance, or larger ones, prevent it',
    )
  const overlap = levels.findIndex((level, n) => n > 0 && level.minVolts <= levels[n - 1]!.maxVolts)
  if (overlap > 0)
    warnings.push(`levels ${overlap - 1} and ${overlap} may change places within the tolerance of the parts`)
  const { maxPinMilliamps: pinLimit, maxTotalMilliamps: totalLimit } = request
  if (pinLimit !== undefined && maxPinMilliamps > pinLimit) {
    const worst = pins.reduce((a, b) => (strongest(b) > strongest(a) ? b : a))
    warnings.push(
      `pin "${worst.pin}" carries up to ${maxPinMilliamps.toFixed(1)} mA, its limit is ${pinLimit} mA`,
    )
  }
  if (totalLimit !== undefined && maxTotalMilliamps > totalLimit)
    warnings.push(
      `all pins together deliver up to ${maxTotalMilliamps.toFixed(1)} mA, the limit is ${totalLimit} mA`,
    )
  return warnings
}

function strongest({ sourceMilliamps, sinkMilliamps }: PinCurrent): number {
  return Math.max(sourceMilliamps, sinkMilliamps)
}
