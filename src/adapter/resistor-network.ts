// Pins, resistors and the monitor's load as one linear network: ideal values, and the levels, currents and power that
// given resistors lead to. A pin at the low level is a path to ground, never open.

import { unitResponses, type Branch } from './node-voltages.ts'

/**
 * `weighted`: one colour, 1 to 4 pins, each resistor twice the one before. `rgbi`: a pin for each of R, G, B, and an
 * intensity pin that feeds all three through a resistor each. `mono`: video and intensity pins, weighted 2:1, feeding
 * one or all three of the monitor's colour inputs.
 */
export type NetworkKind =
  { kind: 'weighted'; bits: 1 | 2 | 3 | 4 } | { kind: 'rgbi' } | { kind: 'mono'; inputs?: 1 | 3 }

/** What surrounds the resistors. */
export interface Electrics {
  /** High level of an unloaded pin. */
  supplyVolts: number
  /** Termination in the monitor (75 in VGA), with the cable's own resistance if that matters (about half an ohm). */
  loadOhms: number
  /** What the monitor takes as full brightness. */
  fullScaleVolts: number
  /** Output impedance of a pin, in series with all that it feeds. */
  pinOhms: number
}

/** 0.7 V into 75 ohm: analog RGB video of the VGA; 3.3 V: the usual supply of today's logic (common practice). */
export const USUAL_ELECTRICS: Electrics = { supplyVolts: 3.3, loadOhms: 75, fullScaleVolts: 0.7, pinOhms: 0 }

/** One physical resistor: from which pin to which output, and which of the network's values it has. */
interface Placed {
  pin: number
  output: number
  value: number
}

/** A network, laid out. */
export interface Network {
  /** Names of pins, most significant bit of a code first. */
  pins: readonly string[]
  outputs: readonly string[]
  /** How many different resistor values there are. */
  values: number
  placed: readonly Placed[]
  /** How many of this circuit an adapter has: 3 for a weighted network, one for each colour. */
  copies: number
  /** Full-scale share wanted at an output for a code. */
  idealShare: (code: number, output: number) => number
}

const COLOURS = ['red', 'green', 'blue'] as const

/** Lays a network out. */
export function layNetwork(kind: NetworkKind): Network {
  if (kind.kind === 'weighted') {
    const { bits } = kind
    return {
      pins: Array.from({ length: bits }, (_, n) => `bit ${bits - 1 - n}`),
      outputs: ['colour'],
      values: bits,
      placed: Array.from({ length: bits }, (_, pin) => ({ pin, output: 0, value: pin })),
      copies: 3,
      idealShare: (code) => code / (2 ** bits - 1),
    }
  }
  if (kind.kind === 'rgbi') {
    return {
      pins: ['intensity', ...COLOURS],
      outputs: COLOURS,
      values: 2,
      placed: COLOURS.flatMap((_, output) => [
        { pin: output + 1, output, value: 0 },
        { pin: 0, output, value: 1 },
      ]),
      copies: 1,
      // colour 2/3, intensity 1/3 of full scale (common practice); IBM counts colours I R G B from bit 3 down
      idealShare: (code, output) => (2 * ((code >> (2 - output)) & 1) + (code >> 3)) / 3,
    }
  }
  const outputs = (kind.inputs ?? 3) === 1 ? ['green'] : COLOURS
  return {
    pins: ['video', 'intensity'],
    outputs,
    values: 2,
    placed: outputs.flatMap((_, output) => [
      { pin: 0, output, value: 0 },
      { pin: 1, output, value: 1 },
    ]),
    copies: 1,
    idealShare: (code) => code / 3,
  }
}

/** Whether some pin feeds several resistors, so that its impedance couples the outputs. */
export function sharesPins({ placed }: Network): boolean {
  return new Set(placed.map(({ pin }) => pin)).size < placed.length
}

/** How many resistors of one value a single pin feeds. */
function fanOut({ placed }: Network, value: number): number {
  const pins = placed.filter((it) => it.value === value).map(({ pin }) => pin)
  return pins.filter((pin) => pin === pins[0]).length
}

/** Ideal resistors, before parts are looked for. */
export interface IdealResistors {
  /** All sources of one output in parallel, pin impedance included. */
  parallelOhms: number
  /**
   * One for each value, most significant first, pin impedance taken off. Not above 0: the pin alone is too weak.
   * Where one pin feeds several outputs they are exact for all outputs alike (greys); other codes couple through the pin.
   */
  resistorsOhms: number[]
}

/**
 * Source resistance Rs = RL (Vs / Vfs - 1) from the divider rule, shared out by weight: the bit of weight w out of W
 * gets Rs W / w.
 */
export function idealResistors(kind: NetworkKind, electrics: Electrics): IdealResistors {
  const { supplyVolts, loadOhms, fullScaleVolts, pinOhms } = electrics
  const network = layNetwork(kind)
  const parallelOhms = loadOhms * (supplyVolts / fullScaleVolts - 1)
  const weights = 2 ** network.values - 1
  return {
    parallelOhms,
    resistorsOhms: Array.from(
      { length: network.values },
      // n resistors behind one pin carry n currents through its impedance
      (_, n) =>
        (parallelOhms * weights) / 2 ** (network.values - 1 - n) - pinOhms * Math.max(1, fanOut(network, n)),
    ),
  }
}

/** Volts of every output and, where pins have impedance, of every pin, for one pin high after the other. */
export interface Transfer {
  /** [pin][output], volts at the output with this pin high and the rest low. */
  output: number[][]
  /** [pin high][pin], volts at a pin's foot. */
  pin: number[][]
}

/**
 * Solves the network.
 *
 * @param placedOhms one value for each entry of `network.placed`
 */
export function solveNetwork(
  network: Network,
  placedOhms: readonly number[],
  { supplyVolts, loadOhms, pinOhms }: Electrics,
): Transfer {
  const pins = network.pins.length
  const outputs = network.outputs.length
  // nodes: ground, outputs, sources, and the pins' feet where these are not the sources themselves
  const source = (pin: number): number => 1 + outputs + pin
  const foot = (pin: number): number => (pinOhms > 0 ? 1 + outputs + pins + pin : source(pin))
  const branches: Branch[] = network.outputs.map((_, output) => ({ from: 1 + output, to: 0, ohms: loadOhms }))
  network.placed.forEach(({ pin, output }, n) => {
    branches.push({ from: foot(pin), to: 1 + output, ohms: placedOhms[n]! })
  })
  if (pinOhms > 0)
    for (let pin = 0; pin < pins; pin++) branches.push({ from: source(pin), to: foot(pin), ohms: pinOhms })
  const responses = unitResponses(
    1 + outputs + pins * (pinOhms > 0 ? 2 : 1),
    branches,
    network.pins.map((_, pin) => source(pin)),
  )
  return {
    output: responses.map((volts) => network.outputs.map((_, output) => supplyVolts * volts[1 + output]!)),
    pin: responses.map((volts) => network.pins.map((_, pin) => supplyVolts * volts[foot(pin)]!)),
  }
}

/** Spreads a network's values over its resistors. */
export function placeValues(network: Network, resistorsOhms: readonly number[]): number[] {
  return network.placed.map(({ value }) => resistorsOhms[value]!)
}

/** Whether `pin` is high in `code`; pins count from the most significant bit. */
export function isHigh(network: Network, code: number, pin: number): boolean {
  return ((code >> (network.pins.length - 1 - pin)) & 1) === 1
}

/** Volts at an output for a code: the sum over the pins that are high. */
export function outputVolts(network: Network, transfer: Transfer, code: number, output: number): number {
  let volts = 0
  for (let pin = 0; pin < network.pins.length; pin++)
    if (isHigh(network, code, pin)) volts += transfer.output[pin]![output]!
  return volts
}

/**
 * Amperes out of each pin for a code, by pin; negative: the pin sinks.
 *
 * @param placedOhms as given to `solveNetwork`
 */
export function pinAmperes(
  network: Network,
  transfer: Transfer,
  placedOhms: readonly number[],
  code: number,
): number[] {
  const amperes = network.pins.map(() => 0)
  const footVolts = network.pins.map((_, pin) =>
    transfer.pin.reduce((sum, volts, high) => sum + (isHigh(network, code, high) ? volts[pin]! : 0), 0),
  )
  network.placed.forEach(({ pin, output }, n) => {
    amperes[pin]! += (footVolts[pin]! - outputVolts(network, transfer, code, output)) / placedOhms[n]!
  })
  return amperes
}
