// What the card puts out, as numbers: a row of the catalogue, with or without changes, or numbers given by hand.

import { standardById, type ColourWires, type Standard } from '../classify/standards.ts'
import type { Polarity } from '../measurement.ts'
import { impossible } from './impossible.ts'

/** One direction of a raster, counted from the leading edge of sync: sync, back porch, active, front porch. */
export interface SignalInterval {
  sync: number
  backPorch: number
  active: number
  frontPorch: number
}

/** Timing of a card. Porches include borders. */
export interface SignalTiming {
  /** Id of the catalogue's row, null for numbers given by hand. */
  id: string | null
  name: string
  dotClockHz: number
  /** Dots. */
  horizontal: SignalInterval
  /** Scanlines of one field; where interlaced they add up to a number that ends in .5. */
  vertical: SignalInterval
  interlaced: boolean
  hsyncPolarity: Polarity
  vsyncPolarity: Polarity
  colour: ColourWires
}

/** What may be said about a timing beside, or in place of, a row of the catalogue. */
export interface TimingChanges {
  dotClockHz?: number | undefined
  horizontal?: SignalInterval | undefined
  vertical?: SignalInterval | undefined
  interlaced?: boolean | undefined
  hsyncPolarity?: Polarity | undefined
  vsyncPolarity?: Polarity | undefined
  colour?: ColourWires | undefined
}

/** Bounds of what is made: well beyond any TTL video there was. */
const MAX_DOTS = 16_384
const MAX_SCANLINES = 8192
const DOT_CLOCK_HZ = { min: 10e3, max: 1e9 } as const

export function totalOf({ sync, backPorch, active, frontPorch }: SignalInterval): number {
  return sync + backPorch + active + frontPorch
}

/** Scanlines of a whole frame: of both fields, where interlaced. */
export function scanlinesOf(timing: SignalTiming): number {
  return totalOf(timing.vertical) * (timing.interlaced ? 2 : 1)
}

/** Rows of the whole picture: of both fields, where interlaced. */
export function activeScanlinesOf(timing: SignalTiming): number {
  return timing.vertical.active * (timing.interlaced ? 2 : 1)
}

/** A row of the catalogue as a card sends it. Where no source states a polarity, sync is positive. */
export function timingOfStandard(row: Standard): SignalTiming {
  const fields = row.interlaced ? 2 : 1
  return {
    id: row.id,
    name: row.name,
    dotClockHz: row.dotClockHz,
    horizontal: { ...row.horizontal, active: row.activeDots },
    vertical: { ...row.vertical, active: row.activeScanlines / fields },
    interlaced: row.interlaced,
    hsyncPolarity: row.hsyncPolarity ?? 'positive',
    vsyncPolarity: row.vsyncPolarity ?? 'positive',
    colour: row.colour,
  }
}

/**
 * A mode with changes, or a timing by numbers alone.
 *
 * @param id row of the catalogue; null where `changes` say it all: dot clock, horizontal and vertical then have to be there
 * @throws {CaptureError} SYNTHESIS_IMPOSSIBLE for an unknown id, numbers that are missing, or numbers that make no raster
 */
export function signalTiming(id: string | null, changes: TimingChanges = {}): SignalTiming {
  const timing = id === null ? timingByNumbers(changes) : changed(timingOfStandard(rowOf(id)), changes)
  checkTiming(timing)
  return timing
}

function rowOf(id: string): Standard {
  const row = standardById(id)
  if (row) return row
  throw impossible(`no mode is called "${id}"`, 'rastertap modes lists the ids')
}

function timingByNumbers(changes: TimingChanges): SignalTiming {
  const { dotClockHz, horizontal, vertical, ...rest } = changes
  if (dotClockHz === undefined || horizontal === undefined || vertical === undefined) {
    throw impossible(
      'neither a mode nor a complete timing is given',
      'give --mode ID, or all of --dot-clock, --horizontal and --vertical',
    )
  }
  const plain: SignalTiming = {
    id: null,
    name: 'timing by numbers',
    dotClockHz,
    horizontal,
    vertical,
    interlaced: false,
    hsyncPolarity: 'positive',
    vsyncPolarity: 'positive',
    colour: 'rgbi',
  }
  return changed(plain, rest)
}

function changed(timing: SignalTiming, changes: TimingChanges): SignalTiming {
  const said = Object.entries(changes).filter(([, value]) => value !== undefined)
  return { ...timing, ...(Object.fromEntries(said) as Partial<SignalTiming>) }
}

/** @throws {CaptureError} SYNTHESIS_IMPOSSIBLE */
function checkTiming({ dotClockHz, horizontal, vertical, interlaced }: SignalTiming): void {
  if (!(dotClockHz >= DOT_CLOCK_HZ.min && dotClockHz <= DOT_CLOCK_HZ.max)) {
    throw impossible(`a dot clock of ${dotClockHz} Hz cannot be made`, 'give one from 10 kHz to 1 GHz')
  }
  const order = 'active,front,sync,back'
  for (const [way, interval, most] of [
    ['horizontal', horizontal, MAX_DOTS],
    ['vertical', vertical, MAX_SCANLINES],
  ] as const) {
    const { sync, backPorch, active, frontPorch } = interval
    const parts = [active, frontPorch, sync, backPorch]
    const whole = [active, sync, ...(way === 'horizontal' ? [frontPorch, backPorch] : [])]
    const sound =
      parts.every((part) => part >= 0) && whole.every(Number.isInteger) && active >= 1 && sync >= 1
    if (!sound || totalOf(interval) > most) {
      throw impossible(
        `the ${way} timing ${parts.join(',')} makes no raster`,
        `give ${order} as whole numbers, active and sync at least 1, at most ${most} in all`,
      )
    }
  }
  // sync that lasts for the larger part is, to any reader, sync of the other polarity
  if (2 * horizontal.sync >= totalOf(horizontal) || 2 * vertical.sync >= totalOf(vertical)) {
    throw impossible('sync lasts for half of the time or more', 'give the other polarity, or a shorter sync')
  }
  const half = totalOf(vertical) % 1
  if (half !== (interlaced ? 0.5 : 0)) {
    throw impossible(
      `a field of ${totalOf(vertical)} scanlines is ${interlaced ? 'not interlaced' : 'not whole'}`,
      interlaced
        ? 'give the numbers of one field, with half a scanline in a porch'
        : 'give whole numbers, or --interlaced for a field with half a scanline',
    )
  }
}
