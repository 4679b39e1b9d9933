import fc from 'fast-check'
import { expect, it, test } from 'vitest'
import { MAX_TICK, TimeCells } from '../../src/capture/csv-time.ts'
import { bytesOf } from './csv-collect.ts'

const POINT = 0x2e

function ticks(cell: string, decimals: number, tickExponent: number | null = null): number {
  const bytes = bytesOf(`__${cell}__`)
  return new TimeCells({ decimal: POINT, decimals, tickExponent }).ticks(bytes, 2, bytes.length - 2)
}

/** The same by whole numbers of any size. */
function exactly(
  negative: boolean,
  integer: string,
  fraction: string,
  exponent: number,
  decimals: number,
): bigint {
  const shift = decimals + exponent - fraction.length
  const digits = BigInt(integer + fraction)
  const size = shift >= 0 ? digits * 10n ** BigInt(shift) : roundedHalfUp(digits, 10n ** BigInt(-shift))
  return negative ? -size : size
}

function roundedHalfUp(value: bigint, unit: bigint): bigint {
  return (value * 2n + unit) / (unit * 2n)
}

const digits = fc.string({ unit: fc.constantFrom(...'0123456789'), minLength: 0, maxLength: 14 })

it('reads any decimal number into whole ticks as exact arithmetic does', () => {
  let large = 0
  fc.assert(
    fc.property(
      fc.boolean(),
      digits,
      digits,
      fc.integer({ min: -12, max: 6 }),
      fc.boolean(),
      fc.integer({ min: 0, max: 15 }),
      (negative, integer, fraction, exponent, exponential, decimals) => {
        fc.pre(integer !== '' || fraction !== '')
        const power = exponential ? exponent : 0
        const cell = `${negative ? '-' : ''}${integer}${fraction === '' ? '' : `.${fraction}`}${exponential ? `E${power}` : ''}`
        const exact = exactly(negative, integer, fraction, power, decimals)
        const read = ticks(cell, decimals)
        if (exact > BigInt(MAX_TICK) || exact < -BigInt(MAX_TICK)) {
          large++
          expect(Number.isFinite(read)).toBe(false)
        } else expect(BigInt(read)).toBe(exact)
      },
    ),
    { seed: 7, numRuns: 3000 },
  )
  expect(large).toBeGreaterThan(100)
})

test.each([
  ['4.647 800 ms', 4_647_800],
  ['0 ns', 0],
  ['-209.715100 ms', -209_715_100],
  ['12us', 12_000],
  ['12 \u00b5s', 12_000],
  ['1 s', 1_000_000_000],
  ['7', 7_000_000_000],
])('%s counts in nanoseconds by its own unit', (cell, expected) => {
  // The last has no unit: it is in seconds, as its column would be.
  expect(ticks(cell, 9, -9)).toBe(expected)
})

test.each(['', '-', '.', 'e5', '1e', '1e+', '1.2.3', '1 x', '1 2 3 q', '--1', '0x10'])(
  '%j is no time',
  (cell) => {
    expect(ticks(cell, 3)).toBeNaN()
  },
)

it('tells when digits were rounded away', () => {
  const cells = new TimeCells({ decimal: POINT, decimals: 3, tickExponent: null })
  const rounded = (cell: string): boolean => {
    cells.ticks(bytesOf(cell), 0, cell.length)
    return cells.rounded
  }
  expect([rounded('1.2345'), rounded('1.2340'), rounded('1.234'), rounded('1e-4'), rounded('0e-9')]).toEqual([
    true,
    false,
    false,
    true,
    false,
  ])
})

it('never gives a negative zero', () => {
  expect(Object.is(ticks('-0.0', 3), 0)).toBe(true)
  expect(Object.is(ticks('-0.0001', 3), 0)).toBe(true)
})
