import { readFileSync } from 'node:fs'
import { describe, expect, it, test } from 'vitest'
import { parseAdapter, type AdapterDescription } from '../../src/adapter/adapter-description.ts'
import { findPlans, planForClock } from '../../src/adapter/plan-search.ts'
import { clockChoices, pllChoices } from '../../src/adapter/pll.ts'

const text = readFileSync(new URL('../../fixtures/adapter/pll-rp2040.json', import.meta.url), 'utf8')
const described = parseAdapter(text)
/** The loop alone, without the limit of the chip behind it. */
const { outputHz: _rated, ...loop } = described.pll!

/** Every setting of the loop, written out; frequencies as exact fractions of 12 MHz. Shares no code with src. */
function everySetting(): { multiplier: number; product: number }[] {
  const found = []
  for (let multiplier = 16; multiplier <= 320; multiplier++) {
    const vcoMegahertz = 12 * multiplier
    if (vcoMegahertz < 750 || vcoMegahertz > 1600) continue
    for (let a = 1; a <= 7; a++) for (let b = 1; b <= 7; b++) found.push({ multiplier, product: a * b })
  }
  return found
}

function signalOf(dotHz: number, activeDots: number): Parameters<typeof findPlans>[0] {
  return { dotClockHz: { value: dotHz, uncertainty: 0 }, activeDots }
}

describe('PLL', () => {
  it('makes every frequency of the loop, once each', () => {
    // compared as whole numbers: lcm(1..7)^2 = 176400 makes every post-divider product a divisor
    const all = new Set(everySetting().map(({ multiplier, product }) => (multiplier * 176_400) / product))
    const choices = pllChoices(loop)
    expect(choices.length).toBe(all.size)
    for (const { clockHz, pll } of choices) {
      expect(all).toContain(Math.round((clockHz / 12e6) * 176_400))
      expect(pll!.vcoHz).toBe((pll!.referenceHz * pll!.multiplier) / pll!.referenceDivider)
      expect(clockHz).toBeCloseTo(pll!.vcoHz / pll!.postDividers.reduce((a, b) => a * b, 1), 3)
    }
  })

  it('keeps the highest VCO of those that make one frequency, larger post-divider first', () => {
    const at130 = pllChoices(loop).find(({ clockHz }) => clockHz === 130e6)!
    expect(at130.pll).toMatchObject({ vcoHz: 1560e6, multiplier: 130, postDividers: [6, 2] })
  })

  it('stays within the output range, and follows a list of post-dividers or none', () => {
    const choices = pllChoices(described.pll!)
    expect(Math.max(...choices.map(({ clockHz }) => clockHz))).toBeLessThanOrEqual(133e6)
    const { postDividerStages: _, ...bare } = loop
    expect(pllChoices(bare).map(({ clockHz }) => clockHz)).toEqual(
      Array.from({ length: 133 - 63 + 1 }, (_unused, n) => 12e6 * (63 + n)),
    )
    const listed = pllChoices({ ...bare, multiplier: { min: 100, max: 100 }, postDividers: [2, 8, 3] })
    expect(listed.map(({ clockHz }) => clockHz)).toEqual([150e6, 400e6, 600e6])
    const divided = pllChoices({
      ...bare,
      multiplier: { min: 127, max: 127 },
      referenceDivider: { min: 1, max: 2 },
    })
    expect(divided.map(({ clockHz }) => clockHz)).toEqual([762e6, 1524e6])
  })

  it('refuses a space too large to try', () => {
    const wide = { min: 1, max: 4096 }
    expect(() =>
      pllChoices({
        ...loop,
        multiplier: wide,
        referenceDivider: { min: 1, max: 64 },
        postDividerStages: [
          { min: 1, max: 64 },
          { min: 1, max: 64 },
        ],
      }),
    ).toThrow(RangeError)
  })

  it('is one clock where one is given, and multiples of the dots where none is', () => {
    expect(clockChoices({ clockHz: 100e6 }, 1)).toEqual([{ clockHz: 100e6, pll: null }])
    for (const { clockHz } of clockChoices({}, 16e6)) expect(clockHz % 16e6).toBe(0)
  })
})

describe('search', () => {
  const classics = [
    { name: 'mono text', dotHz: 16.257e6, activeDots: 720 },
    { name: 'mono graphics', dotHz: 16e6, activeDots: 720 },
    { name: '200-line colour', dotHz: 14_318_181, activeDots: 640 },
    { name: 'VGA', dotHz: 25.175e6, activeDots: 640 },
  ]

  test.each(classics)(
    '$name: no whole number of clocks in the full space does better',
    ({ dotHz, activeDots }) => {
      let best = -Infinity
      for (const { multiplier, product } of everySetting()) {
        for (let clocks = 1; clocks <= 64; clocks++) {
          const clockHz = (12e6 * multiplier) / product
          const slip = Math.abs((clocks * dotHz) / clockHz - 1) * (activeDots - 1)
          // slip over the width, one clock of catch, 5 ns either side; all taken from a whole dot
          best = Math.max(best, 1 - slip - dotHz / clockHz - 2 * 5e-9 * dotHz)
        }
      }
      const [first] = findPlans(signalOf(dotHz, activeDots), { pll: loop }).plans
      expect(first!.worstMarginFraction).toBeCloseTo(best, 9)
    },
  )

  test.each(classics)(
    '$name: no fraction of the divider in the full space does better',
    ({ dotHz, activeDots }) => {
      const bits = 3
      let best = -Infinity
      for (const { multiplier, product } of everySetting()) {
        for (let eighths = 8; eighths <= 12 * 8; eighths++) {
          if (eighths % 8 === 0) continue
          const clockHz = (12e6 * multiplier) / product
          const slip = Math.abs((eighths * dotHz) / 8 / clockHz - 1) * (activeDots - 1)
          best = Math.max(best, 1 - slip - (2 * dotHz) / clockHz - 2 * 5e-9 * dotHz)
        }
      }
      const { plans } = findPlans(
        signalOf(dotHz, activeDots),
        { pll: loop, fractionBits: bits, maxClocksPerDot: 12 },
        { count: 1e6 },
      )
      const fractional = plans.filter(({ clocksPerDot }) => !Number.isInteger(clocksPerDot))
      expect(Math.max(...fractional.map(({ worstMarginFraction }) => worstMarginFraction))).toBeCloseTo(
        best,
        9,
      )
    },
  )

  it('lists whole plans first, then fractional ones, then those that do not hold, each by margin', () => {
    const adapter: AdapterDescription = { ...described, clockTolerancePpm: 100 }
    const { plans } = findPlans(signalOf(16.257e6, 720), adapter, { count: 1e6 })
    const kind = plans.map(({ clockTolerancePpm, clocksPerDot }) =>
      clockTolerancePpm < 100 ? 2 : Number.isInteger(clocksPerDot) ? 0 : 1,
    )
    expect(new Set(kind)).toEqual(new Set([0, 1, 2]))
    for (let n = 1; n < plans.length; n++) {
      expect(kind[n]).toBeGreaterThanOrEqual(kind[n - 1]!)
      if (kind[n] === kind[n - 1])
        expect(plans[n]!.worstMarginFraction).toBeLessThanOrEqual(plans[n - 1]!.worstMarginFraction)
    }
  })

  it('finds 130 MHz / 8 for the mono card within the rated clock', () => {
    const [first] = findPlans(signalOf(16.257e6, 720), described).plans
    expect(first).toMatchObject({ sampleClockHz: 130e6, clocksPerDot: 8, bands: 0 })
    expect(first!.errorPpm).toBeCloseTo(-430.6, 1)
  })

  it('goes through the full space in well under a second', () => {
    const started = performance.now()
    const { plansTried } = findPlans(signalOf(25.175e6, 640), { pll: loop, fractionBits: 8 })
    expect(performance.now() - started).toBeLessThan(1000)
    expect(plansTried).toBeGreaterThan(4000)
  })

  it('tries the clocks per dot that the builder fixed, and no more than allowed', () => {
    const fixed = findPlans(signalOf(16e6, 720), { ...described, clocksPerDot: 5 }, { count: 1e6 }).plans
    expect(new Set(fixed.map(({ clocksPerDot }) => clocksPerDot))).toEqual(new Set([5]))
    const few = findPlans(signalOf(16e6, 720), { pll: loop }, { count: 1e6, maxClocksPerDot: 6 }).plans
    expect(Math.max(...few.map(({ clocksPerDot }) => clocksPerDot))).toBe(6)
  })
})

describe('a clock that is given', () => {
  it('is measured with the better of the two whole numbers around', () => {
    // 270 / 16.257 = 16.608, 260 / 16.257 = 15.993
    expect(planForClock(signalOf(16.257e6, 640), 270e6).clocksPerDot).toBe(17)
    expect(planForClock(signalOf(16.257e6, 640), 260e6).clocksPerDot).toBe(16)
  })

  it('takes a fraction where the divider has one and no whole number holds', () => {
    const plan = planForClock(signalOf(16.257e6, 640), 133e6, described)
    expect(plan.clocksPerDot * 256).toBe(Math.round((133e6 / 16.257e6) * 256))
    expect(planForClock(signalOf(16.257e6, 640), 130e6, described).clocksPerDot).toBe(8)
  })

  it('takes the clocks per dot that are stated', () => {
    expect(planForClock(signalOf(16.257e6, 640), 270e6, { clocksPerDot: 16 }).clocksPerDot).toBe(16)
  })

  it('gives a plan even for a clock slower than the dots', () => {
    expect(planForClock(signalOf(16e6, 640), 8e6)).toMatchObject({ clocksPerDot: 1, eyeMarginFraction: 0 })
  })
})
