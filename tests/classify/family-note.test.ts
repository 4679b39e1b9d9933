// What is said where two rows fit about as well: what would tell them apart, and only what was not measured. Rows of a small
// catalogue that differ in one thing each.

import { describe, expect, it } from 'vitest'
import { classify, type MeasuredTiming } from '../../src/classify/classify.ts'
import { STANDARDS, type Standard } from '../../src/classify/standards.ts'
import { bareTiming } from './bare-timing.ts'

const ROW: Standard = {
  ...STANDARDS.find(({ id }) => id === 'vga-480-60')!,
  id: 'one',
  name: 'One',
}
const HSYNC_HZ = ROW.dotClockHz / ROW.dotsPerScanline

/** Nothing but rates and the count of scanlines. */
const bare = (more: Partial<MeasuredTiming> = {}): MeasuredTiming =>
  bareTiming(HSYNC_HZ, 2e-6, {
    vsyncHz: { value: HSYNC_HZ / 525, uncertainty: 1e-4 },
    scanlinesPerFrame: 525,
    ...more,
  })

function note(
  other: Partial<Standard>,
  more: Partial<MeasuredTiming> = {},
  twins: Standard[] = [],
): string | null {
  const rival: Standard = { ...ROW, id: 'other', name: 'Other', ...other }
  return classify(bare(more), [ROW, rival, ...twins]).familyNote
}

const told = (what: string): string =>
  `What was measured fits One and Other about as well. ${what} would tell.`

describe('familyNote', () => {
  it('names what was not measured and differs', () => {
    // the same scanline rate with other dots
    const dots = { dotsPerScanline: 900, dotClockHz: ROW.dotClockHz * (900 / 800) }
    expect(note(dots)).toBe(told('Dots per scanline (800 against 900)'))
    expect(note({ hsyncPolarity: 'positive' })).toBe(told('The polarity of hsync'))
    expect(note({ vsyncPolarity: 'positive' })).toBe(told('The polarity of vsync'))
    const width = {
      vertical: { ...ROW.vertical, sync: 3, backPorch: ROW.vertical.backPorch - 1 },
      vsyncScanlinesAccepted: [3],
    }
    expect(note(width)).toBe(told('The width of vsync (2 against 3 scanlines)'))
    expect(note({ hsyncPolarity: 'positive', vsyncPolarity: 'positive' })).toBe(
      told('The polarity of vsync, or the polarity of hsync'),
    )
    // without a vsync their counts of scanlines are not known either
    const longer = { scanlinesPerFrame: 527, scanlinesAccepted: [527] }
    expect(note(longer, { vsyncHz: null, scanlinesPerFrame: null })).toBe(
      told('Scanlines per frame (525 against 527)'),
    )
  })

  it('names nothing where they differ in nothing that is looked at', () => {
    expect(note({})).toBe('What was measured fits One and Other about as well.')
  })

  it('says nothing of what was measured', () => {
    // both polarities are known: that of hsync is One's
    const known = { hsyncPolarity: ROW.hsyncPolarity, vsyncPolarity: ROW.vsyncPolarity } as const
    expect(note({ hsyncPolarity: 'positive' }, known) ?? '').not.toContain('polarity')
    expect(note({}, { ...known, vsyncWidthScanlines: 2, dotsPerScanline: 800 })).toBe(
      'What was measured fits One and Other about as well.',
    )
    const dots = { dotsPerScanline: 801, dotClockHz: ROW.dotClockHz * (801 / 800) }
    expect(note(dots, { dotsPerScanline: 800 }) ?? '').not.toContain('would tell')
    const width = { vertical: { ...ROW.vertical, sync: 3, backPorch: ROW.vertical.backPorch - 1 } }
    expect(note(width, { vsyncWidthScanlines: 2 }) ?? '').not.toContain('width')
    const longer = { scanlinesPerFrame: 527, scanlinesAccepted: [525, 527] }
    expect(note(longer) ?? '').not.toContain('Scanlines')
    expect(note(longer, { scanlinesPerFrame: null }) ?? '').not.toContain('Scanlines')
  })

  it('names rows of the same timing, with the same crystal', () => {
    const twin = (name: string, more: Partial<Standard> = {}): Standard => ({
      ...ROW,
      id: name.toLowerCase(),
      name,
      sameTimingAs: 'one',
      ...more,
    })
    const alone = (twins: Standard[]): string | null => classify(bare(), [ROW, ...twins]).familyNote
    expect(alone([])).toBeNull()
    expect(alone([twin('Twin'), twin('Third')])).toBe(
      'Timing alone does not tell these apart: One; Twin; Third.',
    )
    expect(alone([twin('Twin', { dotClockHz: ROW.dotClockHz * 1.001 })])).toBeNull()
    expect(alone([twin('Twin', { sameTimingAs: 'two' })])).toBeNull()
    expect(note({ hsyncPolarity: 'positive' }, {}, [twin('Twin')])).toBe(
      `${told('The polarity of hsync')} Timing alone does not tell these apart: One; Twin.`,
    )
  })

  it('throws where no row stands for itself', () => {
    expect(() => classify(bare(), [{ ...ROW, sameTimingAs: 'another' }])).toThrow(RangeError)
  })
})
