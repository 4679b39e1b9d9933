import { describe, expect, it, test } from 'vitest'
import { planForClock } from '../../src/adapter/plan-search.ts'
import {
  differenceMask,
  previewFrames,
  type Preview,
  type PreviewRequest,
} from '../../src/adapter/preview.ts'
import { samplingPlan, type SamplingPlan } from '../../src/adapter/sampling-plan.ts'
import { measuredSignal } from '../../src/adapter/segment-signal.ts'
import { measureCapture, type CaptureMeasurement } from '../../src/measure.ts'
import { drawSignal, type DrawnSignal, type DrawOptions } from '../support/draw-signal.ts'
import { drawPicture, type Picture } from '../support/pictures.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'
import { writeCapture } from '../support/write-capture.ts'

interface Captured {
  measurement: CaptureMeasurement
  drawn: DrawnSignal
  picture: Picture
}

type CaptureOptions = Partial<DrawOptions> & { sampleRateHz?: number }

const known = new Map<string, Promise<Captured>>()

/** The same capture is drawn and measured once. */
function captured(key: TimingKey, options: CaptureOptions = {}): Promise<Captured> {
  const name = JSON.stringify([key, options])
  const capture = known.get(name) ?? drawn(key, options)
  known.set(name, capture)
  return capture
}

async function drawn(key: TimingKey, options: CaptureOptions): Promise<Captured> {
  const { sampleRateHz = 24e6, ...draw } = options
  const timing = TIMINGS[key]
  const picture = drawPicture('dither', timing)
  const signal = drawSignal(timing, picture, { frames: 2.3, startFrames: 0.85, ...draw })
  const bytes = writeCapture(sampleSignal(signal, { sampleRateHz, phase: 0.3 }), { kind: 'vcd' })
  const measurement = await measureCapture([bytes], {
    keepSignal: true,
    frames: { first: 0, count: 4 },
  })
  return { measurement, drawn: signal, picture }
}

function previewOf(
  { measurement }: Captured,
  clockHz: number,
  more: Partial<PreviewRequest> & { clocksPerDot?: number } = {},
): { preview: Preview; plan: SamplingPlan } {
  const { signal } = measuredSignal(measurement.main)
  const fixed = more.clocksPerDot === undefined ? {} : { clocksPerDot: more.clocksPerDot }
  const setup = more.setupSeconds === undefined ? {} : { setupSeconds: more.setupSeconds }
  const plan = planForClock(signal, clockHz, { ...fixed, ...setup })
  const { clocksPerDot, phaseDots } = plan
  const preview = previewFrames(measurement.main, {
    clockHz,
    phaseDots,
    count: 'filtered',
    frames: 4,
    ...more,
    clocksPerDot,
  })
  return { preview, plan }
}

/**
 * By how many dots each column is read off its place: the one shift that explains every row of every frame, NaN where
 * none does, undefined where all is blank beside the picture. The picture is noise: no other shift fits by chance.
 */
function shifts({ frames, widthDots, heightScanlines }: Preview): (number | undefined)[] {
  const from = Array.from({ length: 61 }, (_, n) => n - 30)
  return Array.from({ length: widthDots }, (_unused, column) => {
    const fitting = from.filter((shift) =>
      frames.every(({ codes, truth }) => {
        for (let row = 0; row < heightScanlines; row++) {
          const at = column + shift
          const sent = at >= 0 && at < widthDots ? truth[row * widthDots + at] : 0
          if (codes[row * widthDots + column] !== sent) return false
        }
        return true
      }),
    )
    return fitting.length === 0 ? NaN : fitting.length === 1 ? fitting[0] : undefined
  })
}

describe('a clock that fits', () => {
  test.each([
    { key: 'mda', clockHz: 260e6, sampleRateHz: 24e6 },
    { key: 'ega350with366', clockHz: 130e6, sampleRateHz: 24e6 },
    { key: 'cga80', clockHz: 157.5e6, sampleRateHz: 24e6 },
    // negative hsync, scanlines of 800 dots
    { key: 'vga480', clockHz: 252e6, sampleRateHz: 100e6 },
  ] as const)('$key with $clockHz Hz shows the picture that was drawn', async ({ key, ...with_ }) => {
    const capture = await captured(key, { sampleRateHz: with_.sampleRateHz })
    const { preview, plan } = previewOf(capture, with_.clockHz)
    expect(plan.bands).toBe(0)
    expect(preview.frames.length).toBeGreaterThan(0)
    for (const frame of preview.frames) {
      expect(frame).toMatchObject({ differentDots: 0, lowByRows: 0 })
      // the generator's own picture, which src never saw
      expect(frame.codes).toEqual(capture.picture.codes)
      if (frame.sentScanlines !== null) expect(frame.countedScanlines).toBe(Math.round(frame.sentScanlines))
    }
  })

  it('shows the fields of an interlaced mode one by one', async () => {
    const { preview } = previewOf(await captured('interlaced', { sampleRateHz: 50e6 }), 157.5e6)
    expect(preview.frames.length).toBeGreaterThan(1)
    expect(preview.heightScanlines).toBe(TIMINGS.interlaced.v.active)
    expect(preview.frames.map(({ differentDots }) => differentDots)).toEqual(preview.frames.map(() => 0))
    // lines of the two fields differ: no frame is shown for the other
    expect(preview.frames[0]!.codes).not.toEqual(preview.frames[1]!.codes)
  })

  it('works from composite sync too', async () => {
    const capture = await captured('cga80', { composite: { kind: 'serrated', polarity: 'negative' } })
    const { preview } = previewOf(capture, 157.5e6)
    expect(preview.frames.map(({ differentDots }) => differentDots)).toEqual(preview.frames.map(() => 0))
  })
})

describe('bands', () => {
  test.each([
    { key: 'ega350with366', clockHz: 270e6, clocksPerDot: 17, setupSeconds: 0 },
    { key: 'ega350with366', clockHz: 270e6, clocksPerDot: 17, setupSeconds: 5e-9 },
    { key: 'ega350with366', clockHz: 270e6, clocksPerDot: 16, setupSeconds: 2e-9 },
    { key: 'mda', clockHz: 133e6, clocksPerDot: 8, setupSeconds: 2e-9 },
    { key: 'cga80', clockHz: 250e6, clocksPerDot: 17, setupSeconds: 0 },
  ] as const)(
    '$key with $clockHz Hz / $clocksPerDot appear where sampling predicts them, and nowhere else',
    async ({ key, clockHz, clocksPerDot, setupSeconds }) => {
      const capture = await captured(key)
      const { preview, plan } = previewOf(capture, clockHz, { clocksPerDot, setupSeconds })
      expect(plan.bands).toBeGreaterThan(2)
      const seen = shifts(preview)
      const predicted = new Set<number>()
      for (const { firstColumn, lastColumn } of plan.bandDetails)
        for (let column = firstColumn; column <= lastColumn; column++) predicted.add(column)
      const disturbed = seen.flatMap((shift, column) => (Number.isNaN(shift) ? [column] : []))
      expect(disturbed.filter((column) => !predicted.has(column))).toEqual([])
      // across each band that lies within the picture the dots read move by one, one way
      const inner = plan.bandDetails.filter(
        ({ firstColumn, lastColumn }) =>
          seen[firstColumn - 1] !== undefined && seen[lastColumn + 1] !== undefined,
      )
      expect(inner.length).toBeGreaterThan(plan.bands - 4)
      for (const { firstColumn, lastColumn } of inner)
        expect(seen[lastColumn + 1]! - seen[firstColumn - 1]!).toBe(plan.errorPpm < 0 ? 1 : -1)
      // and rows disagree in the middle of each
      for (const { column } of inner)
        expect([column - 1, column, column + 1].some((near) => Number.isNaN(seen[near]))).toBe(true)
    },
  )

  it('are none for 260 MHz / 16 on a card of 16.257 MHz, though it is 430 ppm slow', async () => {
    const { preview, plan } = previewOf(await captured('ega350with366'), 260e6)
    expect(plan.errorPpm).toBeCloseTo(-430, -1)
    expect(shifts(preview).every((shift) => shift === 0)).toBe(true)
  })

  it('are the same each time', async () => {
    const capture = await captured('mda', { frames: 1.3 })
    const [once, again] = [1, 2].map(() => previewOf(capture, 133e6, { setupSeconds: 5e-9 }).preview)
    expect(once!.frames.map(({ codes }) => codes)).toEqual(again!.frames.map(({ codes }) => codes))
  })
})

describe('false sync pulses', () => {
  const ringing = {
    edge: 'trailing',
    delaySeconds: 0.3e-6,
    widthSeconds: 0.2e-6,
    probability: 0.01,
  } as const

  it('make the picture jump where every edge counts, and not where they are filtered', async () => {
    const capture = await captured('ega350with366', { ringing, frames: 4.3, seed: 5 })
    const { preview: edges } = previewOf(capture, 260e6, { count: 'edges' })
    const { preview: filtered } = previewOf(capture, 260e6, { count: 'filtered' })
    expect(edges.frames.length).toBe(4)
    // as many rows too low as pulses rang between vsync and the last row; not alike in all frames: it jumps
    const low = edges.frames.map(({ lowByRows }) => lowByRows)
    expect(new Set(low).size).toBeGreaterThan(1)
    expect(Math.max(...low.map((rows) => rows ?? 0))).toBeGreaterThan(0)
    for (const frame of edges.frames) expect(frame.differentDots).toBeGreaterThan(0)
    expect(filtered.frames.map(({ lowByRows, differentDots }) => [lowByRows, differentDots])).toEqual(
      filtered.frames.map(() => [0, 0]),
    )
  })

  it('are counted one by one', async () => {
    const capture = await captured('ega350with366', { ringing, frames: 4.3, seed: 5 })
    const { preview } = previewOf(capture, 260e6, { count: 'edges' })
    const { wholeFrames, defects } = capture.drawn.truth
    expect(wholeFrames.length).toBeGreaterThan(2)
    let rang = 0
    for (const [n, { seconds, scanlines }] of wholeFrames.entries()) {
      const end = wholeFrames[n + 1]?.seconds ?? seconds + scanlines / capture.drawn.truth.scanlineHz
      const drawn = defects.filter((defect) => defect.seconds >= seconds && defect.seconds < end).length
      expect(preview.frames[n]!.countedScanlines - scanlines).toBe(drawn)
      rang += drawn
    }
    expect(rang).toBeGreaterThan(3)
  })

  it('in mid-scanline push the rows below down by one, from the very scanline on', async () => {
    const { v, h } = TIMINGS.ega350with366
    // frame 1 is the first whole one
    const spikes = [{ channel: 'H', at: { frame: 1, scanline: 166, dot: 300 }, widthSeconds: 0.15e-6 }]
    const capture = await captured('ega350with366', { spikes })
    const { preview } = previewOf(capture, 260e6, { count: 'edges' })
    const [first] = preview.frames
    expect(first!.lowByRows).toBe(1)
    const width = preview.widthDots
    const row = (codes: Uint16Array, at: number): Uint16Array => codes.slice(at * width, (at + 1) * width)
    const top = v.sync + v.backPorch
    expect(h.sync + h.backPorch).toBeLessThan(300)
    for (let at = 0; at < 166 - top; at++) expect(row(first!.codes, at)).toEqual(row(first!.truth, at))
    for (let at = 167 - top; at < 349; at += 20)
      expect(row(first!.codes, at + 1)).toEqual(row(first!.truth, at))
    expect(previewOf(capture, 260e6).preview.frames[0]!.differentDots).toBe(0)
  })

  it('that are missing pull the rows below up', async () => {
    const missingHsync = [{ frame: 1, scanline: 200 }]
    const capture = await captured('mda', { missingHsync })
    const { preview } = previewOf(capture, 260e6)
    expect(preview.frames[0]).toMatchObject({ lowByRows: -1, countedScanlines: 369 })
    expect(preview.frames[0]!.differentDots).toBeGreaterThan(0)
  })

  it('get past a filter that is set too short, as a builder would see', async () => {
    const capture = await captured('ega350with366', { ringing, frames: 2.3, seed: 5 })
    const { preview } = previewOf(capture, 260e6, { filterSeconds: 50e-9, holdOffSeconds: 0 })
    expect(preview).toMatchObject({ holdOffSeconds: 0 })
    expect(preview.frames.some(({ lowByRows }) => lowByRows !== 0)).toBe(true)
  })
})

describe('differences', () => {
  it('are counted alike by frame, by column and in the mask', async () => {
    const { preview } = previewOf(await captured('mda'), 133e6)
    const byFrame = preview.frames.map(({ differentDots }) => differentDots)
    const sum = byFrame.reduce((a, b) => a + b, 0)
    expect(sum).toBeGreaterThan(0)
    expect(preview.differencesByColumn.reduce((a, b) => a + b, 0)).toBe(sum)
    const masks = preview.frames.map((frame) => differenceMask(frame).reduce((a, b) => a + b, 0))
    expect(masks).toEqual(byFrame)
  })
})

describe('what is kept of a capture', () => {
  it('is nothing unless asked for', async () => {
    const timing = TIMINGS.cga80
    const drawn = drawSignal(timing, drawPicture('text-full', timing), { frames: 2.3, startFrames: 0.85 })
    const bytes = writeCapture(sampleSignal(drawn, { sampleRateHz: 24e6 }), { kind: 'vcd' })
    expect((await measureCapture([bytes])).main.signal).toBeNull()
    const { main } = await measureCapture([bytes], { keepSignal: true, frames: { first: 0, count: 1 } })
    const sync = main.signal!.source.recording.sync!
    // two edges a scanline, from the first lock to the second vsync: a whole frame and what came before
    expect(sync.tick.length / 2).toBeGreaterThan(262)
    expect(sync.tick.length / 2).toBeLessThan(1.25 * 262)
    expect(sync.tick.every((tick, n) => n === 0 || tick >= sync.tick[n - 1]!)).toBe(true)
  })

  it('lets the frames before the wanted ones go', async () => {
    const capture = await captured('cga80', { frames: 4.3 })
    const timing = TIMINGS.cga80
    const bytes = writeCapture(sampleSignal(capture.drawn, { sampleRateHz: 24e6, phase: 0.3 }), {
      kind: 'vcd',
    })
    const { main } = await measureCapture([bytes], { keepSignal: true, frames: { first: 2, count: 1 } })
    const { sync } = main.signal!.source.recording
    // the one before the first wanted is kept as well
    expect(sync!.tick.length / 2).toBeLessThan(2.1 * timing.v.total)
    const { signal } = measuredSignal(main)
    const { phaseDots, clocksPerDot } = planForClock(signal, 157.5e6)
    const preview = previewFrames(main, {
      clockHz: 157.5e6,
      clocksPerDot,
      phaseDots,
      count: 'edges',
      frames: 3,
    })
    expect(preview.frames.map(({ frame, differentDots }) => [frame, differentDots])).toEqual([[2, 0]])
  })

  it('tells sampling the jitter of the card, and what the instrument leaves unsure', async () => {
    const still = measuredSignal((await captured('cga80', { sampleRateHz: 100e6 })).measurement.main)
    const shaky = measuredSignal(
      (await captured('cga80', { sampleRateHz: 100e6, hsyncJitterSeconds: 8e-9 })).measurement.main,
    )
    expect(still.jitter.cardRmsSeconds!).toBeLessThan(1e-9)
    // hsync against a steady picture
    expect(shaky.jitter.cardRmsSeconds!).toBeGreaterThan(6e-9)
    expect(shaky.jitter.cardRmsSeconds!).toBeLessThan(10e-9)
    // 10 ns over the square root of 12 times some 600 scanlines
    expect(still.jitter.instrumentRmsSeconds!).toBeCloseTo(10e-9 / Math.sqrt(12 * 600), 11)
    const clock = { clockHz: 157.5e6, clocksPerDot: 11 }
    expect(samplingPlan(shaky.signal, clock).worstMarginFraction).toBeLessThan(
      samplingPlan(still.signal, clock).worstMarginFraction - 0.3,
    )
  })
})

describe('what cannot be previewed', () => {
  it.each([
    { name: 'no colours', draw: { omit: ['R', 'G', 'B', 'I'] }, code: 'VIDEO_NOT_FOUND' },
    { name: 'no vsync', draw: { omit: ['V'] }, code: 'FRAME_NOT_FOUND' },
  ])('$name: $code', async ({ draw, code }) => {
    const { measurement } = await captured('cga80', draw)
    const request = { clockHz: 157.5e6, clocksPerDot: 11, phaseDots: 0, count: 'edges', frames: 1 } as const
    expect(() => previewFrames(measurement.main, request)).toThrow(expect.objectContaining({ code }))
  })
})
