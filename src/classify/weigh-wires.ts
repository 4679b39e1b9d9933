// Wires against a row: which colours there are, and which way up the syncs are.

import type { Role } from '../capture/role.ts'
import { weighed, type Evidence } from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import type { ColourWires, Standard } from './standard.ts'

const NONE_POLARITY = 0.5

export function weighPolarity(
  measured: MeasuredTiming,
  row: Standard,
  which: 'hsync' | 'vsync',
): Evidence | null {
  const found = which === 'hsync' ? measured.hsyncPolarity : measured.vsyncPolarity
  const nominal = which === 'hsync' ? row.hsyncPolarity : row.vsyncPolarity
  if (found === null) return null
  if (nominal === null) return weighed({ row: NONE_POLARITY, best: NONE_POLARITY, none: NONE_POLARITY }, null)
  // a probe may sit before or after an inverter, and pin lists disagree on vsync more often than on hsync
  const right = which === 'hsync' ? 0.9 : 0.85
  const matches = found === nominal
  const difference = matches ? null : { quantity: `${which} polarity`, measured: found, nominal, unit: '' }
  return weighed({ row: matches ? right : 1 - right, best: right, none: NONE_POLARITY }, difference)
}

/** The set of colour wires a capture has, as far as its channel names tell. */
type CapturedWires = 'mono' | 'rgb' | 'rgbi' | 'two bits'

function capturedWires(roles: ReadonlySet<Role>): CapturedWires | null {
  if (roles.has('secondary-red') || roles.has('secondary-green') || roles.has('secondary-blue'))
    return 'two bits'
  const colour = roles.has('red') || roles.has('green') || roles.has('blue')
  if (roles.has('video')) return colour ? null : 'mono'
  if (!colour) return null
  return roles.has('intensity') ? 'rgbi' : 'rgb'
}

/** Probability of a set of captured wires, given the card's; the last column is "nothing listed". Judgement, no source. */
const WIRES: Readonly<Record<CapturedWires, Readonly<Record<ColourWires | 'none', number>>>> = {
  mono: { mono: 0.9, rgb: 0.03, rgbi: 0.03, rgbrgb: 0.03, analog: 0.03, none: 0.25 },
  rgb: { mono: 0.02, rgb: 0.9, rgbi: 0.35, rgbrgb: 0.25, analog: 0.6, none: 0.3 },
  rgbi: { mono: 0.02, rgb: 0.1, rgbi: 0.9, rgbrgb: 0.25, analog: 0.1, none: 0.25 },
  'two bits': { mono: 0.1, rgb: 0.05, rgbi: 0.1, rgbrgb: 0.9, analog: 0.8, none: 0.2 },
}

export function weighWires(measured: MeasuredTiming, row: Standard): Evidence | null {
  const wires = capturedWires(measured.roles)
  if (wires === null) return null
  const chances = WIRES[wires]
  const { none, ...known } = chances
  const probability = chances[row.colour]
  const best = Math.max(...Object.values(known))
  const difference =
    probability < best / 5
      ? { quantity: 'colour wires', measured: wires, nominal: row.colour, unit: '' }
      : null
  return weighed({ row: probability, best, none }, difference)
}
