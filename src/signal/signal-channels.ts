// The wires of a card's connector, in the order in which a capture lists them, and the colours their levels mean.

import type { Role } from '../capture/role.ts'
import type { ColourWires } from '../classify/standards.ts'
import { choosePalette, type Palette } from '../picture/palette.ts'
import { impossible } from './impossible.ts'
import { activeScanlinesOf, type SignalTiming } from './signal-timing.ts'

/** One wire. */
export interface SignalChannel {
  name: string
  role: Role
}

const RGB: readonly SignalChannel[] = [
  { name: 'R', role: 'red' },
  { name: 'G', role: 'green' },
  { name: 'B', role: 'blue' },
]
const TWO_BITS: readonly SignalChannel[] = [
  { name: 'R1', role: 'red' },
  { name: 'G1', role: 'green' },
  { name: 'B1', role: 'blue' },
  { name: 'R0', role: 'secondary-red' },
  { name: 'G0', role: 'secondary-green' },
  { name: 'B0', role: 'secondary-blue' },
]

/** An analog output is captured before its converter, where two bits a colour are usual. */
const VIDEO: Readonly<Record<ColourWires, readonly SignalChannel[]>> = {
  mono: [
    { name: 'VIDEO', role: 'video' },
    { name: 'I', role: 'intensity' },
  ],
  rgb: RGB,
  rgbi: [...RGB, { name: 'I', role: 'intensity' }],
  rgbrgb: TWO_BITS,
  analog: TWO_BITS,
}

/** Channels that make the picture; channel i is bit i of a dot's code. */
export function videoChannels(timing: SignalTiming): readonly SignalChannel[] {
  return VIDEO[timing.colour]
}

/** All channels: sync first, then video. */
export function signalChannels(timing: SignalTiming, composite: boolean): readonly SignalChannel[] {
  const sync: SignalChannel[] = composite
    ? [{ name: 'CSYNC', role: 'csync' }]
    : [
        { name: 'HSYNC', role: 'hsync' },
        { name: 'VSYNC', role: 'vsync' },
      ]
  return [...sync, ...videoChannels(timing)]
}

/**
 * Number of a channel, by name or role, letters of either case; the one with the scanlines' sync without a name.
 * @throws {CaptureError} SYNTHESIS_IMPOSSIBLE where the card has none of that name
 */
export function channelNamed(channels: readonly SignalChannel[], wanted: string | undefined): number {
  if (wanted === undefined) return 0
  const lower = wanted.toLowerCase()
  const found = channels.findIndex(({ name, role }) => name.toLowerCase() === lower || role === lower)
  if (found >= 0) return found
  const names = channels.map(({ name }) => name).join(' ')
  throw impossible(`the card has no channel "${wanted}"`, `its channels are: ${names}`)
}

/** The colours a monitor would show, as `render` draws them. */
export function signalPalette(timing: SignalTiming): Palette {
  const roles = videoChannels(timing).map(({ role }) => role)
  const row = { colour: timing.colour, activeScanlines: activeScanlinesOf(timing) }
  return choosePalette(
    roles,
    timing.id === null ? null : row,
    timing.vsyncPolarity === 'positive' ? 'rgbi' : 'rgbrgb',
  )
}
