import { describe, expect, it, test } from 'vitest'
import { SERIES_NAMES, valuesBetween, type SeriesName } from '../../src/adapter/e-series.ts'
import { nearestParts } from '../../src/adapter/resistor-parts.ts'
import { designResistors } from '../../src/adapter/resistor-pick.ts'

/** Level of a weighted network by Millman's theorem: 3.3 V pins, 75 ohm load. Shares no code with src. */
function level(ohms: readonly number[], code: number, pinOhms = 0): number {
  const high = ohms.reduce(
    (sum, r, n) => sum + (Math.floor(code / 2 ** (ohms.length - 1 - n)) % 2) / (r + pinOhms),
    0,
  )
  return (3.3 * high) / ohms.reduce((sum, r) => sum + 1 / (r + pinOhms), 1 / 75)
}

function worstError(ohms: readonly number[], pinOhms = 0): number {
  const top = 2 ** ohms.length - 1
  let worst = 0
  for (let code = 0; code <= top; code++)
    worst = Math.max(worst, Math.abs(level(ohms, code, pinOhms) - (0.7 * code) / top))
  return worst
}

/** Least worst error over all picks from a wide span of the series, optionally none above full scale. */
function bruteForce(series: SeriesName, ideal: readonly number[], capped: boolean, pinOhms = 0): number {
  let best = Infinity
  const top = 2 ** ideal.length - 1
  const fill = (chosen: number[]): void => {
    if (chosen.length === ideal.length) {
      if (!capped || level(chosen, top, pinOhms) <= 0.7 * (1 + 1e-9))
        best = Math.min(best, worstError(chosen, pinOhms))
      return
    }
    const wanted = ideal[chosen.length]!
    for (const value of valuesBetween(series, wanted / 2.2, wanted * 3)) fill([...chosen, value])
  }
  fill([])
  return best
}

describe('picked parts', () => {
  test.each([
    { series: 'E24', ohms: [430, 820] },
    { series: 'E48', ohms: [422, 825] },
    { series: 'E96', ohms: [422, 825] },
  ] as const)('two bits from $series: $ohms', ({ series, ohms }) => {
    // by the divider rule 430/820 gives 0.2384 0.4547 0.6931 V, 422/825 0.2365 0.4623 0.6988 V: the least worst errors
    const { picked } = designResistors({ network: { kind: 'weighted', bits: 2 }, series })
    expect(picked.resistorsOhms).toEqual(ohms)
    for (const { code, volts, idealVolts } of picked.levels) {
      expect(volts).toBeCloseTo(level(ohms, code), 12)
      expect(idealVolts).toBeCloseTo((0.7 * code) / 3, 12)
    }
  })

  const cases = SERIES_NAMES.flatMap(
    (series) =>
      ([1, 2, 3] as const).flatMap((bits) =>
        (['nominal', 'ignored'] as const).flatMap((fullScale) =>
          [0, 35].map((pinOhms) => ({ series, bits, fullScale, pinOhms })),
        ),
      ),
    // three bits from the fine series make a slow brute force
  ).filter(({ series, bits }) => bits < 3 || series === 'E12' || series === 'E24')
  test.each([...cases, { series: 'E12', bits: 4, fullScale: 'nominal', pinOhms: 0 } as const])(
    '$bits bits from $series, full scale $fullScale, $pinOhms ohm pins: none errs less',
    ({ series, bits, fullScale, pinOhms }) => {
      const { ideal, picked } = designResistors({
        network: { kind: 'weighted', bits },
        series,
        fullScale,
        electrics: { pinOhms },
      })
      expect(picked.worstErrorVolts).toBeCloseTo(worstError(picked.resistorsOhms, pinOhms), 12)
      expect(picked.worstErrorVolts).toBeCloseTo(
        bruteForce(series, ideal.resistorsOhms, fullScale === 'nominal', pinOhms),
        12,
      )
    },
  )

  test.each(SERIES_NAMES)(
    'from %s never exceed full scale as marked, nor at any corner if so asked',
    (series) => {
      for (const network of [{ kind: 'weighted', bits: 3 }, { kind: 'rgbi' }, { kind: 'mono' }] as const) {
        const limit = 0.7 * (1 + 1e-9)
        const nominal = designResistors({ network, series, electrics: { pinOhms: 20 } }).picked
        expect(Math.max(...nominal.levels.map(({ volts }) => volts))).toBeLessThanOrEqual(limit)
        const corners = designResistors({ network, series, electrics: { pinOhms: 20 }, fullScale: 'corners' })
        expect(Math.max(...corners.picked.levels.map(({ maxVolts }) => maxVolts))).toBeLessThanOrEqual(limit)
        expect(corners.warnings.join()).not.toContain('full scale')
      }
    },
  )

  test.each(SERIES_NAMES)('of two each from %s keep every corner below full scale if so asked', (series) => {
    const electrics = { pinOhms: 40 }
    const { picked } = designResistors({
      network: { kind: 'rgbi' },
      series,
      electrics,
      combinations: true,
      fullScale: 'corners',
    })
    expect(Math.max(...picked.levels.map(({ maxVolts }) => maxVolts))).toBeLessThanOrEqual(0.7 * (1 + 1e-9))
  })

  test('two parts for one come nearer than one, and are values of the series', () => {
    const one = designResistors({ network: { kind: 'weighted', bits: 2 }, series: 'E12' }).picked
    const two = designResistors({
      network: { kind: 'weighted', bits: 2 },
      series: 'E12',
      combinations: true,
    }).picked
    expect(two.worstErrorVolts).toBeLessThan(one.worstErrorVolts / 10)
    const bought = valuesBetween('E12', 1, 10e6)
    for (const { joined, values, ohms } of two.parts) {
      for (const value of values) expect(bought).toContain(value)
      const [a, b] = values
      const sum = joined === 'parallel' ? 1 / (1 / a! + 1 / b!) : joined === 'series' ? a! + b! : a!
      expect(ohms).toBeCloseTo(sum, 9)
    }
  })

  test('the nearest pair is the nearest of all pairs', () => {
    const values = valuesBetween('E12', 1, 10e6)
    for (const ohms of [417.857, 835.714, 278.571, 1000, 12.34]) {
      const off = (it: number): number => Math.abs(Math.log(it / ohms))
      // the search looks for the smaller part down to a hundredth of the value; so does this
      let least = Math.min(...values.map(off))
      for (const a of values)
        for (const b of values) {
          if (b > a) continue
          if (b >= ohms / 100) least = Math.min(least, off(a + b))
          if (a <= ohms * 100) least = Math.min(least, off((a * b) / (a + b)))
        }
      expect(off(nearestParts('E12', ohms, 5)[0]!.ohms)).toBeCloseTo(least, 12)
    }
  })
})

describe('tolerance', () => {
  test('the range of a level is the range over every corner, and holds what lies between', () => {
    const { picked } = designResistors({
      network: { kind: 'weighted', bits: 3 },
      series: 'E24',
      tolerancePercent: 5,
    })
    const spread = [0.95, 0.97, 1, 1.03, 1.05]
    for (const { code, minVolts, maxVolts } of picked.levels) {
      let [least, most] = [Infinity, -Infinity]
      for (const a of spread)
        for (const b of spread)
          for (const c of spread) {
            const [x, y, z] = picked.resistorsOhms
            const volts = level([x! * a, y! * b, z! * c], code)
            least = Math.min(least, volts)
            most = Math.max(most, volts)
          }
      expect(minVolts).toBeCloseTo(least, 12)
      expect(maxVolts).toBeCloseTo(most, 12)
    }
  })

  test('parts without tolerance leave no range', () => {
    for (const { volts, minVolts, maxVolts } of designResistors({
      network: { kind: 'weighted', bits: 4 },
      tolerancePercent: 0,
    }).picked.levels) {
      expect(minVolts).toBeCloseTo(volts, 12)
      expect(maxVolts).toBeCloseTo(volts, 12)
    }
  })
})

describe('shared networks', () => {
  test('the intensity pin couples the colours only by its own impedance', () => {
    const spread = (pinOhms: number): number => {
      const { picked } = designResistors({
        network: { kind: 'rgbi' },
        tolerancePercent: 0,
        electrics: { pinOhms },
      })
      const reds = picked
        .colours!.filter(({ code }) => (code & 4) !== 0 && code < 8)
        .map(({ redVolts }) => redVolts)
      return Math.max(...reds) - Math.min(...reds)
    }
    expect(spread(0)).toBeLessThan(1e-12)
    expect(spread(40)).toBeGreaterThan(1e-3)
  })

  test('colours count I R G B, and code 6 is dark yellow', () => {
    const { picked } = designResistors({ network: { kind: 'rgbi' }, series: 'E96' })
    const { redVolts, greenVolts, blueVolts } = picked.colours![6]!
    expect([redVolts, greenVolts]).toEqual([expect.closeTo(0.4623, 3), expect.closeTo(0.4623, 3)])
    expect(blueVolts).toBe(0)
    expect(picked.colours![8]!.blueVolts).toBeCloseTo(0.2365, 3)
    expect(picked.levels.map(({ code }) => code)).toEqual([0, 1, 2, 3])
  })

  test('the pull-down for brown halves green', () => {
    const { brown, picked } = designResistors({ network: { kind: 'rgbi' }, series: 'E96' })
    const [colour, intensity] = picked.resistorsOhms
    const siemens = 1 / colour! + 1 / intensity! + 1 / 75 + 1 / brown!.pullDownOhms
    expect(3.3 / colour! / siemens).toBeCloseTo(picked.colours![6]!.greenVolts / 2, 12)
    // an ideal 2-bit network is 278.6 ohm against 75: 59.1 ohm
    expect(brown!.pullDownOhms).toBeCloseTo(59.1, 0)
    expect(designResistors({ network: { kind: 'mono' } }).brown).toBeNull()
  })

  test('mono into three inputs loads its pins three times as much as into one', () => {
    const [one, three] = [1, 3].map((inputs) =>
      designResistors({ network: { kind: 'mono', inputs: inputs as 1 | 3 } }),
    )
    expect(three!.picked.levels).toEqual(one!.picked.levels)
    expect(three!.picked.maxPinMilliamps).toBeCloseTo(3 * one!.picked.maxPinMilliamps, 9)
  })
})

describe('currents and warnings', () => {
  test('one bit: 9.3 mA a pin and three times that in all, with the tolerance on top', () => {
    const { picked } = designResistors({
      network: { kind: 'weighted', bits: 1 },
      series: 'E96',
      tolerancePercent: 1,
    })
    // worst corner: 3.3 V over 280 ohm less 1 % and 75 ohm
    const milliamps = 3300 / (280 * 0.99 + 75)
    expect(picked.maxPinMilliamps).toBeCloseTo(milliamps, 9)
    expect(picked.maxTotalMilliamps).toBeCloseTo(3 * milliamps, 9)
    expect(picked.resistorMilliwatts[0]).toBeCloseTo((milliamps / 1e3) ** 2 * 280 * 0.99 * 1e3, 9)
    expect(picked.powerMilliwatts).toBeCloseTo(3.3 * 3 * milliamps, 9)
  })

  it.each([
    {
      why: 'a corner above full scale',
      more: { series: 'E24' },
      says: /tolerance reach .* above full scale/,
    },
    {
      why: 'marked parts above full scale',
      more: { series: 'E12', fullScale: 'ignored' },
      says: /as marked/,
    },
    {
      why: 'a pin over its limit',
      more: { maxPinMilliamps: 4 },
      says: /pin "bit 1" carries up to .* limit is 4 mA/,
    },
    {
      why: 'all pins over their limit',
      more: { maxTotalMilliamps: 20 },
      says: /together deliver up to .* 20 mA/,
    },
    { why: 'pins too weak for the level', more: { electrics: { pinOhms: 450 } }, says: /out of reach/ },
  ] as const)('warns of $why', ({ more, says }) => {
    expect(designResistors({ network: { kind: 'weighted', bits: 2 }, ...more }).warnings.join('\n')).toMatch(
      says,
    )
  })

  it('warns of levels that may change places', () => {
    const { picked, warnings } = designResistors({ network: { kind: 'weighted', bits: 4 }, series: 'E12' })
    const named = /levels (\d+) and (\d+) may change places/.exec(warnings.join())
    const [lower, upper] = named!.slice(1).map((code) => picked.levels[Number(code)]!)
    expect(upper!.code).toBe(lower!.code + 1)
    expect(upper!.minVolts).toBeLessThanOrEqual(lower!.maxVolts)
  })

  it('has nothing to warn of with close parts kept below full scale', () => {
    expect(
      designResistors({
        network: { kind: 'weighted', bits: 2 },
        series: 'E96',
        fullScale: 'corners',
        maxPinMilliamps: 12,
        maxTotalMilliamps: 50,
      }).warnings,
    ).toEqual([])
  })

  it('refuses what no network can do', () => {
    const network = { kind: 'weighted', bits: 1 } as const
    expect(() => designResistors({ network, electrics: { supplyVolts: 0.5 } })).toThrow(RangeError)
    expect(() => designResistors({ network, electrics: { loadOhms: 0 } })).toThrow(RangeError)
  })
})
