// Captures as chance has them: any row of the catalogue or a timing in none, any picture from a full one to nothing, any
// wires, length and sample rate. The population by which confidences are judged; what is in it is stated here.

import { scanlinesPerField, STANDARDS, type Standard } from '../../src/classify/standards.ts'
import { cardOfRow } from '../support/catalogue-timing.ts'
import type { CompositeKind } from '../support/composite-sync.ts'
import { drawSignal, type DrawOptions } from '../support/draw-signal.ts'
import { drawPicture, type PictureKind } from '../support/pictures.ts'
import { between, newRandom, pick, pickWeighted, type Random } from '../support/random.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import type { Timing } from '../support/timings.ts'
import { writeCapture, type CaptureForm } from '../support/write-capture.ts'

/** Where a timing comes from; all but the first are in no catalogue. */
export type TimingOrigin = 'catalogue' | 'invented' | 'near-miss' | 'interlaced' | 'double-rate'

export type Wires = 'all' | 'syncs' | 'hsync' | 'hsync-colours' | 'csync' | 'csync-colours' | 'colours'

export interface PopulationCapture {
  seed: number
  origin: TimingOrigin
  /** The row that was put out, or the one that stands for it; null where there is none. */
  id: string | null
  timing: Timing
  wires: Wires
  picture: PictureKind
  frames: number
  sampleRateHz: number
  bytes: Uint8Array
}

/** Shares of the population. A judgement: half of what is captured is listed. */
const ORIGINS: readonly (readonly [TimingOrigin, number])[] = [
  ['catalogue', 0.5],
  ['invented', 0.15],
  ['near-miss', 0.2],
  ['interlaced', 0.08],
  ['double-rate', 0.07],
]
const WIRE_SETS: readonly (readonly [Wires, number])[] = [
  ['all', 0.55],
  ['syncs', 0.1],
  ['hsync', 0.08],
  ['hsync-colours', 0.07],
  ['csync', 0.1],
  ['csync-colours', 0.1],
  ['colours', 0.04],
]
const PICTURES: readonly (readonly [PictureKind, number])[] = [
  ['text', 3],
  ['text-full', 3],
  ['dither', 0.5],
  ['border', 1],
  ['one-colour', 1.5],
  ['few-letters', 1.5],
  ['cursor', 1.5],
  ['nearly-dark', 1],
  ['dark', 1.5],
]
const SAMPLE_RATES = [12e6, 16e6, 20e6, 24e6, 24e6, 24e6, 25e6, 32e6, 48e6, 50e6, 80e6, 100e6, 125e6, 200e6]

/** One capture of the population; the same seed gives the same bytes. */
export function captureOfPopulation(seed: number): PopulationCapture {
  const random = newRandom(seed)
  const origin = pickWeighted(random, ORIGINS)
  const { timing, id } = randomTiming(origin, random)
  const wires = pickWeighted(random, WIRE_SETS)
  const picture = pickWeighted(random, PICTURES)
  // from less than a frame to several: a quarter holds no two vsyncs
  const frames = pick(random, [
    between(random, 0.25, 1),
    between(random, 1, 2),
    between(random, 2.05, 3.5),
    2.2,
  ])
  const draw = { ...wiring(wires, timing, random), ...habits(picture, timing, frames, random) }
  const signal = drawSignal(timing, drawPicture(picture, timing, seed), { frames, seed, ...draw })
  const sampleRateHz = pick(random, SAMPLE_RATES)
  const samples = sampleSignal(signal, {
    sampleRateHz,
    phase: random.uniform(),
    clockErrorPpm: 40 * random.gaussian(),
  })
  const form: CaptureForm = random.below(4) === 0 ? { kind: 'csv', rows: 'per-change' } : { kind: 'vcd' }
  return {
    seed,
    origin,
    id,
    timing,
    wires,
    picture,
    frames,
    sampleRateHz,
    bytes: writeCapture(samples, form),
  }
}

function habits(
  picture: PictureKind,
  timing: Timing,
  frames: number,
  random: Random,
): Pick<DrawOptions, 'startFrames' | 'dotClockErrorPpm' | 'hsyncJitterSeconds' | 'otherPicture'> {
  // one capture in thirty carries a rate label that is wrong by more than crystals are
  const label = random.below(30) === 0 ? 2500 * random.gaussian() : 0
  const blink = picture === 'cursor' ? 1 + random.below(4) : 0
  return {
    // at least half a frame on, so that what lies before the capture was drawn too
    startFrames: Math.min(0.99, between(random, 0.02, 1)) + (frames < 1 ? 0 : 1),
    dotClockErrorPpm: 30 * random.gaussian() + label,
    hsyncJitterSeconds: random.below(4) === 0 ? 3e-9 * random.uniform() : 0,
    ...(blink > 0
      ? {
          otherPicture: {
            picture: drawPicture('dark', timing),
            isShown: (frame: number) => Math.floor(frame / blink) % 2 !== 0,
          },
        }
      : {}),
  }
}

function wiring(wires: Wires, timing: Timing, random: Random): Pick<DrawOptions, 'omit' | 'composite'> {
  const colours = wires === 'syncs' || wires === 'hsync' || wires === 'csync' ? timing.channels : []
  if (wires === 'colours') return { omit: ['H', 'V'] }
  if (wires !== 'csync' && wires !== 'csync-colours') {
    const vsync = wires === 'hsync' || wires === 'hsync-colours' ? ['V'] : []
    return { omit: [...vsync, ...colours] }
  }
  const kind = pick<CompositeKind>(random, ['xor', 'or', 'serrated'])
  return {
    omit: [...colours],
    composite: { kind, polarity: random.below(2) === 0 ? 'positive' : 'negative' },
  }
}

function randomTiming(origin: TimingOrigin, random: Random): { timing: Timing; id: string | null } {
  for (;;) {
    const row = pick(random, STANDARDS)
    const card = cardOfRow(row, random)
    if (origin === 'catalogue') return { timing: card, id: row.sameTimingAs ?? row.id }
    const timing = origin === 'invented' ? invented(random) : changed(card, origin, random)
    if (isPossible(timing) && !STANDARDS.some((other) => isTimingOf(timing, other)))
      return { timing, id: null }
  }
}

function changed(card: Timing, origin: TimingOrigin, random: Random): Timing {
  if (origin === 'interlaced') {
    const total = card.v.total % 1 === 0 ? card.v.total + pick(random, [-0.5, 0.5]) : card.v.total - 0.5
    return { ...withScanlines(card, total), interlaced: total % 1 !== 0, name: `${card.name}, other scan` }
  }
  if (origin === 'double-rate') {
    const times = pick(random, [0.5, 2])
    const dotClockHz = card.dotClockHz * times
    // at the same frame rate or at another one
    const total = pick(random, [card.v.total, Math.round(card.v.total * times) + (card.v.total % 1)])
    const name = `${card.name}, rate x ${times}`
    return { ...withScanlines({ ...card, dotClockHz }, total), name }
  }
  switch (random.below(4)) {
    case 0: {
      const off = between(random, 0.006, 0.06) * pick(random, [-1, 1])
      return { ...card, dotClockHz: card.dotClockHz * (1 + off), name: `${card.name}, other crystal` }
    }
    case 1: {
      const more = pick(random, [-12, -8, -4, -2, -1, 1, 2, 4, 8, 12, 20, 50])
      return { ...withScanlines(card, card.v.total + more), name: `${card.name}, other scanlines` }
    }
    case 2: {
      // the crystal is the card's, the scanline is not
      const total = card.h.total + pick(random, [-16, -8, 8, 16, 24, 32])
      return { ...withDots(card, total), name: `${card.name}, other dots` }
    }
    default: {
      // the same scanline out of other dots
      const total = Math.round((card.h.total * between(random, 0.8, 1.25)) / 8) * 8
      const scaled = withDots(card, total)
      return {
        ...scaled,
        dotClockHz: (card.dotClockHz * total) / card.h.total,
        name: `${card.name}, other dots at its rate`,
      }
    }
  }
}

function withScanlines(card: Timing, total: number): Timing {
  const { sync, backPorch } = card.v
  const active = Math.min(card.v.active, Math.floor(total - sync - 2))
  const porches = total - sync - active
  const back = Math.min(backPorch, Math.floor(porches))
  return { ...card, v: { active, sync, backPorch: back, frontPorch: porches - back, total } }
}

function withDots(card: Timing, total: number): Timing {
  const { sync, active, backPorch, frontPorch } = card.h
  const room = total - sync
  // a scanline with less room than its picture needs shows less of it
  const shown = Math.min(active, Math.floor((room - 16) / 8) * 8)
  const front = Math.max(0, Math.min(frontPorch, room - shown - Math.min(backPorch, 8)))
  return { ...card, h: { active: shown, sync, frontPorch: front, backPorch: room - shown - front, total } }
}

/** Numbers such as somebody who programs a controller might choose. */
function invented(random: Random): Timing {
  const cell = pick(random, [8, 8, 8, 9, 16])
  const scanlineHz = 12e3 * (60 / 12) ** random.uniform()
  const fieldHz = between(random, 45, 90)
  const dots = Math.round(between(random, 400, 1300) / cell) * cell
  const lines = Math.round(scanlineHz / fieldHz)
  const interlaced = random.below(5) === 0
  const total = lines + (interlaced ? 0.5 : 0)
  const vSync = 1 + random.below(16)
  const hSync = Math.round((dots * between(random, 0.04, 0.16)) / cell) * cell || cell
  const hActive = Math.floor((dots * between(random, 0.65, 0.8)) / cell) * cell
  const vActive = Math.min(Math.floor(lines * between(random, 0.75, 0.95)), lines - vSync - 1)
  const hFront = Math.floor(((dots - hActive - hSync) * random.uniform()) / cell) * cell
  const vBack = Math.floor((total - vActive - vSync) * random.uniform())
  const channels = pick(random, [['video', 'I'], ['R', 'G', 'B'], ['R', 'G', 'B', 'I'], [...'RGBrgb']])
  const either = (): 'positive' | 'negative' => (random.below(2) === 0 ? 'positive' : 'negative')
  return {
    name: 'invented',
    source: 'invented by chance',
    dotClockHz: dots * scanlineHz,
    h: {
      active: hActive,
      frontPorch: hFront,
      sync: hSync,
      backPorch: dots - hActive - hSync - hFront,
      total: dots,
    },
    v: { active: vActive, frontPorch: total - vActive - vSync - vBack, sync: vSync, backPorch: vBack, total },
    hsyncPolarity: either(),
    vsyncPolarity: either(),
    channels,
    codeMask: 2 ** channels.length - 1,
    vsyncOffsetDots: random.below(2) * hSync,
    interlaced,
  }
}

/** Ranges outside of which nobody calls it video, and parts that must not be negative. */
function isPossible({ dotClockHz, h, v }: Timing): boolean {
  const scanlineHz = dotClockHz / h.total
  const fieldHz = scanlineHz / v.total
  const parts = [h.active, h.frontPorch, h.sync, h.backPorch, v.active, v.frontPorch, v.sync, v.backPorch]
  return (
    scanlineHz > 9e3 &&
    scanlineHz < 110e3 &&
    fieldHz > 20 &&
    fieldHz < 190 &&
    h.total < 2040 &&
    parts.every((part) => part >= 0)
  )
}

/**
 * Whether a timing is a row's by what makes a timing: scanline rate (as far as rows and instruments are inaccurate),
 * scanlines, scan and dots. Sync widths, polarities and porches vary among cards of one row.
 */
function isTimingOf({ dotClockHz, h, v, interlaced }: Timing, row: Standard): boolean {
  const crystals = [row.dotClockHz, ...row.dotClockVariantsHz]
  const isRate = crystals.some(
    (crystal) =>
      Math.abs(dotClockHz / h.total / (crystal / row.dotsPerScanline) - 1) < row.rateTolerance + 0.0005,
  )
  const sweeps = row.interlaced ? [scanlinesPerField(row)] : row.scanlinesAccepted
  const isDots = [1, 2, 0.5].some((times) => h.total * times === row.dotsPerScanline)
  return isRate && sweeps.includes(v.total) && (interlaced === true) === row.interlaced && isDots
}
