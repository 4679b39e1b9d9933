// What single findings weigh against a row, on both sides of where that changes. How much a finding weighs is judgement and
// stands beside the numbers; here it counts where the judgement goes from one to another.

import { describe, expect, it } from 'vitest'
import type { Role } from '../../src/capture/role.ts'
import { compareWith } from '../../src/classify/distance.ts'
import type { Evidence } from '../../src/classify/evidence.ts'
import type { MeasuredTiming } from '../../src/classify/measured-timing.ts'
import { scanlinesPerField, standardById, type Standard } from '../../src/classify/standards.ts'
import { dotsRepeated, weighDots, weighHsyncWidth, weighLitArea } from '../../src/classify/weigh-dots.ts'
import { frameRateDifference, nearestDotClockHz, weighScanlineRate } from '../../src/classify/weigh-rate.ts'
import { weighInterlace, weighScanlines, weighVsyncWidth } from '../../src/classify/weigh-scanlines.ts'
import { weighPolarity, weighWires } from '../../src/classify/weigh-wires.ts'
import { bareTiming } from './bare-timing.ts'

const MDA = standardById('mda-350')!
const CGA = standardById('cga-200')!

/** Nothing but a scanline rate, that of the row, known to a millionth. */
function measured(row: Standard, more: Partial<MeasuredTiming> = {}): MeasuredTiming {
  return bareTiming(row.dotClockHz / row.dotsPerScanline, 1e-6, more)
}

const name = (evidence: Evidence | null): string | number | null => evidence?.difference?.measured ?? null
/** How much likelier, by one finding against another. */
const ratio = (a: number, b: number): number => Math.exp(a - b)

describe('wires', () => {
  const wires = (row: string, ...roles: Role[]): Evidence | null =>
    weighWires(measured(MDA, { roles: new Set(roles) }), standardById(row)!)

  it('one colour is enough to know what kind they are', () => {
    for (const colour of ['red', 'green', 'blue'] as const) {
      expect(name(wires('mda-350', colour))).toBe('rgb')
      expect(name(wires('mda-350', colour, 'intensity'))).toBe('rgbi')
      expect(name(wires('mda-350', `secondary-${colour}`))).toBe('two bits')
      // a wire for all of them and one of a colour do not go together
      expect(wires('mda-350', 'video', colour)).toBeNull()
    }
    expect(name(wires('cga-200', 'video'))).toBe('mono')
    expect(name(wires('cga-200', 'video', 'intensity'))).toBe('mono')
    for (const roles of [[], ['intensity'], ['hsync', 'vsync']] as const)
      expect(wires('cga-200', ...roles)).toBeNull()
  })

  it('are a difference where the best of all rows is five times as likely to have them', () => {
    expect(name(wires('mda-350', 'video'))).toBeNull()
    expect(name(wires('cga-200', 'red', 'intensity'))).toBeNull()
    // three of a card's four or six may have been captured
    expect(name(wires('cga-200', 'red'))).toBeNull()
    expect(name(wires('ega-350', 'red'))).toBeNull()
    expect(name(wires('ega-350', 'red', 'intensity'))).toBeNull()
    expect(name(wires('cga-200', 'secondary-red'))).toBe('two bits')
    expect(name(wires('vga-480-60', 'red', 'intensity'))).toBe('rgbi')
    expect(name(wires('vga-480-60', 'red'))).toBeNull()
  })
})

describe('polarities', () => {
  it("are the row's or not, vsync's less surely", () => {
    const found = (hsync: 'positive' | 'negative', vsync: 'positive' | 'negative'): [number, number] => {
      const timing = measured(MDA, { hsyncPolarity: hsync, vsyncPolarity: vsync })
      const [h, v] = [weighPolarity(timing, MDA, 'hsync')!, weighPolarity(timing, MDA, 'vsync')!]
      return [h.logBest - h.logRow, v.logBest - v.logRow]
    }
    expect([MDA.hsyncPolarity, MDA.vsyncPolarity]).toEqual(['positive', 'negative'])
    expect(found('positive', 'negative')).toEqual([0, 0])
    const [h, v] = found('negative', 'positive')
    expect(h).toBeGreaterThan(v)
    expect(v).toBeGreaterThan(1)
    expect(weighPolarity(measured(MDA), MDA, 'hsync')).toBeNull()
    expect(weighPolarity(measured(MDA), MDA, 'vsync')).toBeNull()
  })
})

describe('scanlines', () => {
  const rate = MDA.dotClockHz / MDA.dotsPerScanline
  const of = (scanlines: number, more: Partial<MeasuredTiming> = {}): Evidence =>
    weighScanlines(measured(MDA, { scanlinesPerFrame: scanlines, ...more }), MDA)!

  it("are the row's up to 0.4, a wrong count up to 1.4, and others beyond", () => {
    expect([of(370), of(370.39), of(369.61)].map(name)).toEqual([null, null, null])
    expect([of(370.41), of(369.59)].map(name)).toEqual([370.41, 369.59])
    expect(ratio(of(371.39).logRow, of(371.41).logRow)).toBeCloseTo(100, 6)
    expect(ratio(of(370.41).logRow, of(371.39).logRow)).toBeCloseTo(1, 9)
  })

  it("of a relative are within 50 of the row's, or far", () => {
    expect(ratio(of(320).logKin, of(319.9).logKin)).toBeCloseTo(1500 / 120, 6)
    expect(ratio(of(420).logKin, of(420.1).logKin)).toBeCloseTo(1500 / 120, 6)
    // a half more makes a sweep interlaced
    const interlaced = (scanlines: number): number => of(scanlines, { interlaced: true }).logKin
    expect(ratio(interlaced(370.7), interlaced(370.8))).toBeCloseTo(0.3 * 150, 6)
    expect(ratio(interlaced(320.5), interlaced(319.5))).toBeCloseTo(10, 6)
  })

  it('of anything else make 45 to 90 sweeps a second', () => {
    const none = (hertz: number, interlaced = false): number => of(rate / hertz, { interlaced }).logNone
    for (const [inside, outside] of [
      [45.1, 44.9],
      [89.9, 90.1],
    ] as const)
      expect(ratio(none(inside), none(outside))).toBeCloseTo(45, 6)
    // four times as many are progressive
    expect(ratio(none(60), none(60, true))).toBeCloseTo(4, 6)
  })

  it('are those of the whole frame where that is interlaced and they are whole', () => {
    expect(name(of(740, { interlaced: true }))).toBeNull()
    expect(name(of(370.5, { interlaced: true }))).toBe(370.5)
    expect(name(of(740))).toBe(740)
  })

  it('come from both rates where they were not counted', () => {
    const from = (hertz: number, uncertainty: number): Evidence | null =>
      weighScanlines(measured(MDA, { vsyncHz: { value: hertz, uncertainty } }), MDA)
    expect(name(from(rate / 370.39, 0))).toBeNull()
    expect(name(from(rate / 370.41, 0))).not.toBeNull()
    // a hundredth of them uncertain: 0.2 and twice 3.8
    expect(name(from(rate / 377.6, rate / 37_760))).toBeNull()
    expect(name(from(rate / 378.2, rate / 37_820))).not.toBeNull()
    expect(from(0, 0)).toBeNull()
    expect(weighScanlines(measured(MDA), MDA)).toBeNull()
  })

  it('that vsync lasts may be 0.6 off, and others that were met before count less', () => {
    const width = (scanlines: number): string | number | null =>
      name(weighVsyncWidth(measured(MDA, { vsyncWidthScanlines: scanlines }), MDA))
    expect(MDA.vsyncScanlinesAccepted[0]).toBe(16)
    expect([width(16.59), width(15.41)]).toEqual([null, null])
    expect([width(16.61), width(15.39)]).toEqual([16.61, 15.39])
    expect(weighVsyncWidth(measured(MDA), MDA)).toBeNull()
  })

  it('are interlaced or not', () => {
    const scan = (interlaced: boolean, scanlines: number | null = 370): string | number | null =>
      name(weighInterlace(measured(MDA, { interlaced, scanlinesPerFrame: scanlines }), MDA))
    expect([scan(false), scan(true), scan(true, null)]).toEqual([null, 'interlaced', null])
  })
})

describe('dots', () => {
  it("are the row's, or half or a quarter of them, by a hundredth", () => {
    expect([912, 456, 228].map((dots) => dotsRepeated(dots, CGA))).toEqual([1, 2, 4])
    expect([304, 114, 1824, 911, 455.99].map((dots) => dotsRepeated(dots, CGA))).toEqual([
      null,
      null,
      null,
      null,
      null,
    ])
    expect([912.009, 911.991, 456.004].map((dots) => dotsRepeated(dots, CGA))).toEqual([1, 1, 2])
  })

  const of = (dots: number): Evidence => weighDots(measured(CGA, { dotsPerScanline: dots }), CGA)!

  it('weigh less the more often they are repeated, and least where nothing explains them', () => {
    const rows = [912, 456, 228, 608, 900].map((dots) => of(dots).logRow)
    expect(rows).toEqual([...rows].sort((a, b) => b - a))
    expect(new Set(rows).size).toBe(5)
    expect([912, 456, 900].map((dots) => name(of(dots)))).toEqual([null, 456, 900])
    expect(weighDots(measured(CGA), CGA)).toBeNull()
    // sixths of the dots are what samples cohere with: 5/6 and 7/6, by a hundredth of a sixth
    expect(of(760).logRow).toBe(of(1064).logRow)
    expect(of(761).logRow).toBe(of(760).logRow)
    expect(ratio(of(761).logRow, of(762).logRow)).toBeCloseTo(50 / 3, 6)
  })

  it("of a relative are within a quarter of the row's, or far", () => {
    for (const [near, far] of [
      [1139, 1141],
      [685, 683],
    ] as const)
      expect(ratio(of(near).logKin, of(far).logKin)).toBeCloseTo(10, 6)
  })

  it('that hsync lasts may be two off, and three uncertainties', () => {
    const width = (dots: number, uncertaintyDots = 0): string | number | null =>
      name(
        weighHsyncWidth(
          measured(MDA, {
            hsyncWidthSeconds: {
              value: dots / MDA.dotClockHz,
              uncertainty: uncertaintyDots / MDA.dotClockHz,
            },
          }),
          MDA,
        ),
      )
    const { sync } = MDA.horizontal
    expect([width(sync + 1.99), width(sync - 1.99)]).toEqual([null, null])
    expect([width(sync + 2.01), width(sync - 2.01)].map((found) => found !== null)).toEqual([true, true])
    expect(width(sync + 4.99, 1)).toBeNull()
    expect(width(sync + 5.01, 1)).not.toBeNull()
    expect(weighHsyncWidth(measured(MDA), MDA)).toBeNull()
  })

  it('that are lit may be two more than the row has, and scanlines one', () => {
    const lit = (
      which: 'dots' | 'scanlines',
      count: number,
      dotsPerScanline: number | null = null,
    ): Evidence =>
      weighLitArea(measured(CGA, { litDots: count, litScanlines: count, dotsPerScanline }), CGA, which)!
    expect([CGA.activeDots, CGA.activeScanlines]).toEqual([640, 200])
    expect([642, 643].map((count) => name(lit('dots', count)))).toEqual([null, 643])
    expect([201, 202].map((count) => name(lit('scanlines', count)))).toEqual([null, 202])
    // just as many speak for the row, fewer for nothing
    expect(ratio(lit('dots', 638).logRow, lit('dots', 637).logRow)).toBeCloseTo(2, 9)
    expect(ratio(lit('scanlines', 199).logRow, lit('scanlines', 198).logRow)).toBeCloseTo(2, 9)
    // where each dot stands for two or four; scanlines do not
    expect([321, 322].map((count) => name(lit('dots', count, 456)))).toEqual([null, 644])
    expect([160, 161].map((count) => name(lit('dots', count, 228)))).toEqual([null, 644])
    expect(name(lit('scanlines', 201, 456))).toBeNull()
    expect(weighLitArea(measured(CGA), CGA, 'dots')).toBeNull()
  })
})

describe('rates', () => {
  const faster = (row: Standard, relative: number, more: Partial<MeasuredTiming> = {}): MeasuredTiming => {
    const hertz = (row.dotClockHz / row.dotsPerScanline) * (1 + relative)
    return measured(row, { hsyncHz: { value: hertz, uncertainty: hertz * 1e-6 }, ...more })
  }
  /** One standard uncertainty: what the row and the instrument may be off by, each evenly within its limits. */
  const sigma = Math.hypot(1e-6, MDA.rateTolerance / Math.sqrt(3), 100e-6 / Math.sqrt(3))

  it('are off where they are by more than a standard uncertainty', () => {
    expect(weighScanlineRate(faster(MDA, 0.99 * sigma), MDA).difference).toBeNull()
    expect(weighScanlineRate(faster(MDA, -0.99 * sigma), MDA).difference).toBeNull()
    const { difference } = weighScanlineRate(faster(MDA, -1.01 * sigma), MDA)
    expect(difference!.inTolerances).toBeCloseTo(1.01, 6)
  })

  it("of a relative are within a tenth of the row's, or far", () => {
    for (const sign of [1, -1]) {
      const kin = (relative: number): number => weighScanlineRate(faster(MDA, sign * relative), MDA).logKin
      expect(ratio(kin(0.0999), kin(0.1001))).toBeCloseTo(40, 6)
    }
  })

  it("are even within the row's tolerance, and fall beyond it", () => {
    const at = (relative: number): number => weighScanlineRate(faster(MDA, relative), MDA).logRow
    const within = MDA.rateTolerance
    expect(at(0.9 * within)).toBeCloseTo(at(0), 2)
    expect(at(-0.9 * within)).toBeCloseTo(at(0), 2)
    // three deviations of the instrument beyond it
    const beyond = within + (3 * 100e-6) / Math.sqrt(3)
    expect(at(0) - at(beyond)).toBeGreaterThan(3)
    expect(at(-beyond)).toBeCloseTo(at(beyond), 9)
    // where the file contradicts itself, that is hardly less
    const doubted = (relative: number): number =>
      weighScanlineRate(faster(MDA, relative, { timeScaleTrusted: false }), MDA).logRow
    expect(doubted(0.015)).toBeGreaterThan(at(0.015) + 3)
    expect(doubted(0)).toBeLessThan(at(0))
  })

  it('may come from another crystal', () => {
    const [variant] = CGA.dotClockVariantsHz.length > 0 ? CGA.dotClockVariantsHz : []
    const row = variant === undefined ? { ...CGA, dotClockVariantsHz: [CGA.dotClockHz * 1.01] } : CGA
    const other = row.dotClockVariantsHz[0]! / row.dotClockHz - 1
    expect(nearestDotClockHz(faster(row, 0), row)).toBe(row.dotClockHz)
    expect(nearestDotClockHz(faster(row, other), row)).toBe(row.dotClockVariantsHz[0])
    expect(nearestDotClockHz(faster(row, 0.49 * other), row)).toBe(row.dotClockHz)
    expect(nearestDotClockHz(faster(row, 0.51 * other), row)).toBe(row.dotClockVariantsHz[0])
    // which is a third as likely
    const own = weighScanlineRate(faster(row, 0), row).logRow
    expect(ratio(own, weighScanlineRate(faster(row, other), row).logRow)).toBeCloseTo(3, 2)
    const alone = { ...row, dotClockVariantsHz: [] }
    expect(ratio(weighScanlineRate(faster(row, 0), alone).logRow, own)).toBeCloseTo(4 / 3, 6)
  })

  it('of frames are those of the scanlines, of as many as were counted if the row knows them', () => {
    const rate = MDA.dotClockHz / MDA.dotsPerScanline
    const frames = (
      relative: number,
      scanlinesPerFrame: number | null,
      hertz = rate / 370,
    ): number | undefined =>
      frameRateDifference(
        measured(MDA, { scanlinesPerFrame, vsyncHz: { value: hertz * (1 + relative), uncertainty: 0 } }),
        MDA,
      )?.inTolerances
    expect(frames(0.99 * sigma, null)).toBeUndefined()
    expect(frames(-1.01 * sigma, null)).toBeCloseTo(1.01, 6)
    expect(frames(0, 370)).toBeUndefined()
    // 371 are none of the row's: frames should be as long as its own
    expect(frames(0, 371)).toBeUndefined()
    expect(frames(0, 371, rate / 371)).toBeGreaterThan(10)
    expect(frameRateDifference(measured(MDA), MDA)).toBeNull()
    const more = { ...MDA, scanlinesAccepted: [370, 371] }
    const counted = measured(MDA, { scanlinesPerFrame: 371, vsyncHz: { value: rate / 371, uncertainty: 0 } })
    expect(frameRateDifference(counted, more)).toBeNull()
  })
})

describe('compareWith', () => {
  it('adds deviations up as squares, the largest first', () => {
    const none = compareWith(measured(MDA), MDA)
    expect(none.distance).toBeCloseTo(0, 6)
    expect(none.differences).toEqual([])
    const timing = measured(MDA, { hsyncPolarity: 'negative', scanlinesPerFrame: 373, dotsPerScanline: 441 })
    const { distance, differences } = compareWith(timing, MDA)
    const sizes = differences.map(({ inTolerances }) => inTolerances)
    expect(differences.map(({ quantity }) => quantity)).toEqual([
      'scanlines per frame',
      'hsync polarity',
      'dots per scanline',
    ])
    expect(sizes).toEqual([...sizes].sort((a, b) => b - a))
    expect(distance).toBeCloseTo(Math.hypot(...sizes), 6)
  })

  it('takes the row for likelier than its relatives where all is as it has it', () => {
    const timing = measured(MDA, {
      scanlinesPerFrame: scanlinesPerField(MDA),
      dotsPerScanline: MDA.dotsPerScanline,
    })
    const { logRow, logKin, logNone } = compareWith(timing, MDA)
    expect(logRow).toBeGreaterThan(logKin)
    expect(logKin).toBeGreaterThan(logNone)
    // and for less likely where one thing is another
    const other = compareWith({ ...timing, scanlinesPerFrame: 380 }, MDA)
    expect(other.logKin).toBeGreaterThan(other.logRow)
  })
})
