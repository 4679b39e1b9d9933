// Chosen resistors and their tolerance -> the range of every level, the currents of the pins and the power in the parts.
// Levels and currents are monotonic in each resistance, so the extremes lie where every part is at one end of its range.

import {
  outputVolts,
  pinAmperes,
  placeValues,
  solveNetwork,
  isHigh,
  type Electrics,
  type Network,
} from './resistor-network.ts'

/** Least and most over all corners. */
export interface Extremes {
  /** [code][output] */
  minVolts: number[][]
  maxVolts: number[][]
  /** Most that each pin delivers and most that it sinks, over codes and corners. */
  pinSourceAmperes: number[]
  pinSinkAmperes: number[]
  /** Most that the pins of one circuit deliver together, over codes and corners. */
  totalAmperes: number
  /** Most in any resistor of each value, watts. */
  resistorWatts: number[]
}

/** @param tolerancePercent of every resistor, either way; 0 gives the values themselves */
export function cornerExtremes(
  network: Network,
  resistorsOhms: readonly number[],
  electrics: Electrics,
  tolerancePercent: number,
): Extremes {
  const codes = 2 ** network.pins.length
  const table = (fill: number): number[][] =>
    Array.from({ length: codes }, () => network.outputs.map(() => fill))
  const found: Extremes = {
    minVolts: table(Infinity),
    maxVolts: table(-Infinity),
    pinSourceAmperes: network.pins.map(() => 0),
    pinSinkAmperes: network.pins.map(() => 0),
    totalAmperes: 0,
    resistorWatts: resistorsOhms.map(() => 0),
  }
  const nominal = placeValues(network, resistorsOhms)
  for (const ohms of corners(nominal, tolerancePercent)) widen(found, network, ohms, electrics)
  return found
}

/** Every combination of resistors at either end of their tolerance: two to the power of their number. */
export function corners(ohms: readonly number[], tolerancePercent: number): number[][] {
  if (tolerancePercent === 0) return [[...ohms]]
  return Array.from({ length: 2 ** ohms.length }, (_, corner) =>
    ohms.map((value, n) => value * (1 + ((corner >> n) & 1 ? 1 : -1) * (tolerancePercent / 100))),
  )
}

function widen(found: Extremes, network: Network, ohms: readonly number[], electrics: Electrics): void {
  const transfer = solveNetwork(network, ohms, electrics)
  for (let code = 0; code < 2 ** network.pins.length; code++) {
    network.outputs.forEach((_, output) => {
      const volts = outputVolts(network, transfer, code, output)
      found.minVolts[code]![output] = Math.min(found.minVolts[code]![output]!, volts)
      found.maxVolts[code]![output] = Math.max(found.maxVolts[code]![output]!, volts)
    })
    let total = 0
    pinAmperes(network, transfer, ohms, code).forEach((amperes, pin) => {
      found.pinSourceAmperes[pin] = Math.max(found.pinSourceAmperes[pin]!, amperes)
      found.pinSinkAmperes[pin] = Math.max(found.pinSinkAmperes[pin]!, -amperes)
      total += Math.max(0, amperes)
    })
    found.totalAmperes = Math.max(found.totalAmperes, total)
    network.placed.forEach(({ pin, output, value }, n) => {
      const foot = transfer.pin.reduce(
        (sum, volts, high) => sum + (isHigh(network, code, high) ? volts[pin]! : 0),
        0,
      )
      const across = foot - outputVolts(network, transfer, code, output)
      found.resistorWatts[value] = Math.max(found.resistorWatts[value]!, across ** 2 / ohms[n]!)
    })
  }
}
