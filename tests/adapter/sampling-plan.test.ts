import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { samplingPlan, type SampledSignal, type SamplingClock } from '../../src/adapter/sampling-plan.ts'

function signal(dotHz: number, activeDots: number, more: Partial<SampledSignal> = {}): SampledSignal {
  return { dotClockHz: { value: dotHz, uncertainty: 0 }, activeDots, ...more }
}

/**
 * Where the adapter's samples of one scanline fall, in dots from the first active one. The hsync edge comes `early`
 * clocks before the clock that catches it. Written from the model's words, in clocks; shares no code with src.
 */
function positions(
  { dotClockHz, activeDots, leadDots = 0 }: SampledSignal,
  { clockHz, clocksPerDot }: SamplingClock,
  phaseDots: number,
  early: number,
): number[] {
  return Array.from({ length: activeDots }, (_, d) => {
    const clocks = (leadDots + d + 0.5 + phaseDots) * clocksPerDot
    return ((clocks + early) / clockHz) * dotClockHz.value - leadDots
  })
}

/** Waits for the catching clock that are tried: from none to just under a whole clock. */
const WAITS = [0, 0.2, 0.4, 0.6, 0.8, 1 - 1e-12]

/** Columns that come within `unsureDots` of a dot's edge for some wait, or read different dots for different waits. */
function disturbed(
  of: SampledSignal,
  clock: SamplingClock,
  phaseDots: number,
  unsureDots: number,
): Set<number> {
  const earliest = positions(of, clock, phaseDots, WAITS[0]!)
  const latest = positions(of, clock, phaseDots, WAITS.at(-1)!)
  const found = new Set<number>()
  earliest.forEach((at, d) => {
    if (Math.floor(at - unsureDots) !== Math.floor(latest[d]! + unsureDots)) found.add(d)
  })
  return found
}

/** Columns where the dot read is not one more than at the column before, for some wait. */
function steps(of: SampledSignal, clock: SamplingClock, phaseDots: number): Set<number> {
  const found = new Set<number>()
  for (const wait of WAITS) {
    const dots = positions(of, clock, phaseDots, wait).map(Math.floor)
    for (let d = 1; d < dots.length; d++) if (dots[d] !== dots[d - 1]! + 1) found.add(d)
  }
  return found
}

describe('common practice', () => {
  test('16.257 MHz dots with 260.0 MHz / 16: -430 ppm, 0.28 dot over 640, no bands', () => {
    const plan = samplingPlan(signal(16.257e6, 640), { clockHz: 260e6, clocksPerDot: 16 })
    expect(plan.errorPpm).toBeCloseTo(-430.6, 1)
    expect(plan.slipDots).toBeCloseTo(0.28, 2)
    expect(plan).toMatchObject({ bands: 0, bandColumns: [], rephasingHidesBands: true, disturbedFraction: 0 })
    expect(plan.eyeMarginFraction).toBeGreaterThan(0.4)
  })

  test.each([16, 17])('16.257 MHz dots with 270 MHz / %i: visible bands that repeat', (clocksPerDot) => {
    const of = signal(16.257e6, 640)
    const plan = samplingPlan(of, { clockHz: 270e6, clocksPerDot })
    // 270 / 16.257 = 16.608: 0.6 clocks a dot too few or 0.4 too many
    expect(plan.slipDots).toBeCloseTo((640 * Math.abs(clocksPerDot - 270 / 16.257)) / (270 / 16.257), 1)
    expect(Math.abs(plan.bands - plan.slipDots)).toBeLessThan(1.5)
    expect(plan.rephasingHidesBands).toBe(false)
    expect(plan.eyeMarginFraction).toBe(0)
    // one band every dot of slip: they repeat at this distance
    const apart = plan.bandColumns.slice(1).map((column, n) => column - plan.bandColumns[n]!)
    for (const gap of apart.slice(1, -1)) expect(Math.abs(gap - 640 / plan.slipDots)).toBeLessThan(1.5)
  })

  test.each([
    { dotHz: 157.5e6 / 11, clockHz: 157.5e6, clocksPerDot: 11, errorPpm: 0 },
    { dotHz: 14_318_181, clockHz: 157.5e6, clocksPerDot: 11, errorPpm: 0.057 },
    { dotHz: 16e6, clockHz: 256e6, clocksPerDot: 16, errorPpm: 0 },
    { dotHz: 25.175e6, clockHz: 252e6, clocksPerDot: 10, errorPpm: 993.05 },
  ])('$dotHz Hz with $clockHz Hz / $clocksPerDot: $errorPpm ppm', ({ dotHz, errorPpm, ...clock }) => {
    expect(samplingPlan(signal(dotHz, 640), clock).errorPpm).toBeCloseTo(errorPpm, 2)
  })
})

const anyCase = fc.record({
  dotHz: fc.double({ min: 5e6, max: 40e6, noNaN: true }),
  activeDots: fc.integer({ min: 2, max: 800 }),
  leadDots: fc.integer({ min: 0, max: 200 }),
  clocksPerDot: fc.integer({ min: 2, max: 24 }),
  // from hardly any slip to a band every few dots
  errorPpm: fc.oneof(
    fc.double({ min: -500, max: 500, noNaN: true }),
    fc.double({ min: -60e3, max: 60e3, noNaN: true }),
  ),
  setupSeconds: fc.constantFrom(0, 1e-9, 4e-9),
})

describe('brute force', () => {
  it('disturbs the columns of the bands and no others', () => {
    let [withBands, without] = [0, 0]
    fc.assert(
      fc.property(anyCase, fc.double({ min: -0.4, max: 0.4, noNaN: true }), (some, phaseDots) => {
        const { dotHz, activeDots, leadDots, clocksPerDot, errorPpm, setupSeconds } = some
        const of = signal(dotHz, activeDots, { leadDots })
        const clock = { clockHz: dotHz * clocksPerDot * (1 + errorPpm / 1e6), clocksPerDot, setupSeconds }
        const plan = samplingPlan(of, { ...clock, phaseDots })
        const inBands = new Set<number>()
        for (const { firstColumn, lastColumn } of plan.bandDetails)
          for (let d = firstColumn; d <= lastColumn; d++) inBands.add(d)
        // a sample that touches an edge but for rounding may count either way
        const sure = disturbed(of, clock, phaseDots, setupSeconds * dotHz - 1e-9)
        const hit = disturbed(of, clock, phaseDots, setupSeconds * dotHz + 1e-9)
        for (const d of sure) expect(inBands).toContain(d)
        // a band too narrow to hold a column is shown where samples step over the edge
        const spare = plan.bandDetails.filter(({ firstColumn, lastColumn }) => firstColumn === lastColumn)
        for (const d of inBands) if (!hit.has(d)) expect(spare.map(({ column }) => column)).toContain(d)
        expect(plan.disturbedFraction).toBeCloseTo(inBands.size / activeDots, 12)
        // the dot read is left out or read twice inside a band, or just after it
        for (const d of steps(of, clock, phaseDots)) expect(inBands.has(d) || inBands.has(d - 1)).toBe(true)
        if (plan.bands > 0) withBands++
        else without++
      }),
      { numRuns: 300, seed: 1 },
    )
    expect(Math.min(withBands, without)).toBeGreaterThan(20)
  })

  it('counts a band for every edge that comes within reach', () => {
    fc.assert(
      fc.property(anyCase, (some) => {
        const { dotHz, activeDots, leadDots, clocksPerDot, errorPpm, setupSeconds } = some
        const of = signal(dotHz, activeDots, { leadDots })
        const clock = { clockHz: dotHz * clocksPerDot * (1 + errorPpm / 1e6), clocksPerDot, setupSeconds }
        const plan = samplingPlan(of, clock)
        // an edge is met where a sample's error passes a half more than a whole number
        const errors = WAITS.flatMap((wait) =>
          positions(of, clock, plan.phaseDots, wait).map((at, d) => at - d),
        )
        const unsure = setupSeconds * dotHz
        const [low, high] = [Math.min(...errors) - unsure, Math.max(...errors) + unsure]
        expect(plan.bands).toBe(Math.floor(high) - Math.floor(low))
      }),
      { numRuns: 300, seed: 2 },
    )
  })

  it('leaves the margin that is stated, and no phase leaves more', () => {
    fc.assert(
      fc.property(anyCase, (some) => {
        const { dotHz, activeDots, leadDots, clocksPerDot, errorPpm } = some
        const of = signal(dotHz, activeDots, { leadDots })
        const clock = { clockHz: dotHz * clocksPerDot * (1 + errorPpm / 1e6), clocksPerDot, setupSeconds: 0 }
        const marginAt = (phaseDots: number): number =>
          Math.min(
            ...WAITS.flatMap((wait) =>
              positions(of, clock, phaseDots, wait).map((at, d) => 1 - 2 * Math.abs(at - d - 0.5)),
            ),
          )
        const plan = samplingPlan(of, clock)
        expect(plan.worstMarginFraction).toBeCloseTo(marginAt(plan.phaseDots), 6)
        expect(plan.eyeMarginFraction).toBe(Math.max(0, plan.worstMarginFraction))
        for (const away of [-0.2, -0.01, 0.01, 0.2])
          expect(marginAt(plan.phaseDots + away)).toBeLessThanOrEqual(plan.worstMarginFraction + 1e-9)
      }),
      { numRuns: 200, seed: 3 },
    )
  })

  it('survives the clock error that is stated, and not a tenth more', () => {
    let tried = 0
    fc.assert(
      fc.property(anyCase, (some) => {
        const { dotHz, activeDots, leadDots, clocksPerDot, errorPpm } = some
        const of = signal(dotHz, activeDots, { leadDots })
        const clockHz = dotHz * clocksPerDot * (1 + errorPpm / 1e6)
        const plan = samplingPlan(of, { clockHz, clocksPerDot, setupSeconds: 0 })
        // the tolerance is of first order: a change of the rate, not of the time that one clock takes
        fc.pre(plan.bands === 0 && activeDots >= 100)
        tried++
        const holds = (ppm: number): boolean =>
          [ppm, -ppm].every((by) => {
            const clock = { clockHz: clockHz * (1 + by / 1e6), clocksPerDot }
            return WAITS.every((wait) =>
              positions(of, clock, plan.phaseDots, wait).every((at, d) => Math.floor(at) === d),
            )
          })
        expect(holds(plan.clockTolerancePpm * 0.98)).toBe(true)
        expect(holds(plan.clockTolerancePpm * 1.1 + 1)).toBe(false)
      }),
      { numRuns: 100, seed: 4 },
    )
    expect(tried).toBe(100)
  })

  it('rounds the samples of a fractional divider to clocks, and stays inside the stated margin', () => {
    const of = signal(16.257e6, 720)
    const plan = samplingPlan(of, { clockHz: 133e6, clocksPerDot: 8 + 46 / 256, setupSeconds: 0 })
    let least = 1
    for (const wait of WAITS)
      for (let d = 0; d < 720; d++) {
        const clocks = Math.ceil((d + 0.5 + plan.phaseDots) * (8 + 46 / 256))
        const at = ((clocks + wait) / 133e6) * 16.257e6
        least = Math.min(least, 1 - 2 * Math.abs(at - d - 0.5))
      }
    expect(least).toBeGreaterThanOrEqual(plan.eyeMarginFraction)
    // the bound is no looser than the few roundings that did not occur
    expect(least).toBeLessThan(plan.eyeMarginFraction + 0.03)
  })
})

describe('doubt', () => {
  const clock = { clockHz: 260e6, clocksPerDot: 16 }
  const margin = (more: Partial<SampledSignal>, setupSeconds = 0): number =>
    samplingPlan(signal(16.257e6, 640, more), { ...clock, setupSeconds }).worstMarginFraction

  it('takes jitter off the margin at three times its root sum of squares, and setup time either side', () => {
    const jitterRmsSeconds = [3e-10, 4e-10]
    expect(margin({}) - margin({ jitterRmsSeconds })).toBeCloseTo(2 * 3 * 5e-10 * 16.257e6, 9)
    expect(margin({}) - margin({}, 2e-9)).toBeCloseTo(2 * 2e-9 * 16.257e6, 9)
  })

  it('takes three times the uncertainty of the dot clock over the scanline', () => {
    const dotClockHz = { value: 16.257e6, uncertainty: 162.57 }
    expect(margin({}) - margin({ dotClockHz })).toBeCloseTo(2 * 3 * 10e-6 * 640, 9)
  })

  it('keeps its size for a clock that has nothing to do with the dots', () => {
    const plan = samplingPlan(signal(25e6, 640), { clockHz: 1e3, clocksPerDot: 1 })
    expect(plan.bands).toBeGreaterThan(1e6)
    expect(plan.bandDetails.length).toBeLessThan(5000)
    expect(plan).toMatchObject({ disturbedFraction: 1, eyeMarginFraction: 0, clockTolerancePpm: 0 })
  })

  it('refuses what is no rate', () => {
    expect(() => samplingPlan(signal(0, 640), clock)).toThrow(RangeError)
    expect(() => samplingPlan(signal(16e6, 640), { clockHz: NaN, clocksPerDot: 1 })).toThrow(RangeError)
  })
})
