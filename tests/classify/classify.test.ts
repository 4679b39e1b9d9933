import { describe, expect, it, test } from 'vitest'
import type { Role } from '../../src/capture/role.ts'
import { classify, type MeasuredTiming } from '../../src/classify/classify.ts'
import { STANDARDS } from '../../src/classify/standards.ts'

const NTSC_4 = 315e6 / 22
const RGBI: readonly Role[] = ['hsync', 'vsync', 'red', 'green', 'blue', 'intensity']
const SIX: readonly Role[] = ['red', 'green', 'blue', 'secondary-red', 'secondary-green', 'secondary-blue']
const MONO: readonly Role[] = ['hsync', 'vsync', 'video', 'intensity']

/** A raster measured to 2 ppm, by the numbers a reader of a data sheet would type; the rest is not measured. */
function raster(
  dotClockHz: number,
  dots: number,
  scanlines: number | null,
  polarity: string,
  roles: readonly Role[] = [],
  more: Partial<MeasuredTiming> = {},
): MeasuredTiming {
  const hsyncHz = dotClockHz / dots
  const level = (sign: string | undefined) => (sign === '+' ? 'positive' : sign === '-' ? 'negative' : null)
  return {
    hsyncHz: { value: hsyncHz, uncertainty: hsyncHz * 2e-6 },
    vsyncHz:
      scanlines === null ? null : { value: hsyncHz / scanlines, uncertainty: (hsyncHz / scanlines) * 1e-5 },
    scanlinesPerFrame: scanlines,
    interlaced: false,
    dotsPerScanline: dots,
    hsyncPolarity: level(polarity[0]),
    vsyncPolarity: level(polarity[1]),
    hsyncWidthSeconds: null,
    vsyncWidthScanlines: null,
    litDots: null,
    litScanlines: null,
    roles: new Set(roles),
    timeScaleTrusted: true,
    ...more,
  }
}

/** Width of hsync in seconds, from dots. */
function hsync(dots: number, dotClockHz: number): Pick<MeasuredTiming, 'hsyncWidthSeconds'> {
  return { hsyncWidthSeconds: { value: dots / dotClockHz, uncertainty: 2e-9 } }
}

describe('the timings a builder meets', () => {
  // numbers typed from the sources, not from the catalogue
  const met: { what: string; measured: MeasuredTiming; id: string }[] = [
    {
      what: 'IBM PC TR p. 2-41: 98 characters of 9, 370',
      measured: raster(16_257_000, 882, 370, '+-', MONO),
      id: 'mda-350',
    },
    {
      what: 'hgafb.c: 54 characters of 16 at 16.000 MHz',
      measured: raster(16_000_000, 864, 370, '+-', MONO),
      id: 'mono-348',
    },
    { what: 'the same at 16.257 MHz', measured: raster(16_257_000, 864, 370, '+-', MONO), id: 'mono-348' },
    {
      what: 'hgafb.c text at 16.000 MHz',
      measured: raster(16_000_000, 882, 370, '+-', MONO),
      id: 'mono-350-16mhz',
    },
    {
      what: 'CGA text',
      measured: raster(NTSC_4, 912, 262, '++', RGBI, { vsyncWidthScanlines: 16, ...hsync(80, NTSC_4) }),
      id: 'cga-200',
    },
    {
      what: 'CGA graphics',
      measured: raster(NTSC_4, 912, 262, '++', RGBI, { vsyncWidthScanlines: 16, ...hsync(160, NTSC_4) }),
      id: 'cga-200',
    },
    {
      what: 'CGA board that leaves vsync low',
      measured: raster(NTSC_4, 912, 262, '+-', RGBI, { vsyncWidthScanlines: 16, ...hsync(80, NTSC_4) }),
      id: 'cga-200',
    },
    {
      what: 'CGA graphics of 320 dots',
      measured: raster(NTSC_4 / 2, 456, 262, '++', RGBI, {
        vsyncWidthScanlines: 16,
        ...hsync(80, NTSC_4 / 2),
      }),
      id: 'cga-200',
    },
    {
      what: 'EGA in a 200-line mode',
      measured: raster(NTSC_4, 912, 262, '++', SIX, { vsyncWidthScanlines: 3, ...hsync(64, NTSC_4) }),
      id: 'ega-200',
    },
    { what: 'EGA 350, 366 lines', measured: raster(16_257_000, 744, 366, '+-', SIX), id: 'ega-350' },
    { what: 'EGA 350, 364 lines', measured: raster(16_257_000, 744, 364, '+-', SIX), id: 'ega-350' },
    { what: 'EGA 350, 40 columns', measured: raster(16_257_000, 752, 366, '+-', SIX), id: 'ega-350-40' },
    { what: 'EGA mode 0Fh', measured: raster(NTSC_4, 784, 370, '+-', MONO), id: 'ega-mono-350' },
    { what: 'VGA 350', measured: raster(25_175_000, 800, 449, '+-', SIX), id: 'vga-350-70' },
    { what: 'VGA 400', measured: raster(25_175_000, 800, 449, '-+', SIX), id: 'vga-400-70' },
    { what: 'VGA text', measured: raster(28_322_000, 900, 449, '-+', SIX), id: 'vga-text-400-70' },
    { what: 'VGA 480', measured: raster(25_175_000, 800, 525, '--', SIX), id: 'vga-480-60' },
    { what: 'VESA DMT 09h', measured: raster(40_000_000, 1056, 628, '++'), id: 'dmt-09' },
    {
      what: 'VESA DMT 0Fh by field',
      measured: raster(44_900_000, 1264, 408.5, '++', [], { interlaced: true }),
      id: 'dmt-0f',
    },
    { what: 'PAL rate, 908 dots', measured: raster(14_187_600, 908, 312, '--', RGBI), id: 'amiga-pal-256' },
    {
      what: 'PAL rate, 1024 dots, RGB',
      measured: raster(16_000_000, 1024, 312, '--', ['red', 'green', 'blue'], {
        vsyncWidthScanlines: 2,
        ...hsync(64, 16e6),
      }),
      id: 'bbc-256',
    },
    {
      what: 'PAL rate, 1024 dots, RGBI',
      measured: raster(16_000_000, 1024, 312, '++', RGBI, { vsyncWidthScanlines: 4, ...hsync(72, 16e6) }),
      id: 'c128-pal-200',
    },
  ]
  test.each(met)('$what is $id with at least 0.9', ({ measured, id }) => {
    const { standard } = classify(measured)
    expect(standard?.id).toBe(id)
    expect(standard!.confidence).toBeGreaterThanOrEqual(0.9)
  })

  it('knows every row of its own catalogue, with nothing to complain about', () => {
    for (const row of STANDARDS.filter(({ sameTimingAs }) => sameTimingAs === undefined)) {
      const sweep = row.interlaced ? row.scanlinesPerFrame / 2 : row.scanlinesPerFrame
      const sign = (polarity: string | null) =>
        polarity === null ? '?' : polarity === 'positive' ? '+' : '-'
      const polarity = sign(row.hsyncPolarity) + sign(row.vsyncPolarity)
      const measured = raster(row.dotClockHz, row.dotsPerScanline, sweep, polarity, [], {
        interlaced: row.interlaced,
        vsyncWidthScanlines: row.vertical.sync,
        ...hsync(row.horizontal.sync, row.dotClockHz),
      })
      const { standard, nearest } = classify(measured)
      expect(standard?.id).toBe(row.id)
      expect(nearest.id).toBe(row.id)
      expect(standard!.differences).toEqual([])
      expect(standard!.distance).toBeLessThan(0.2)
    }
  })

  it('minds dots of double width a little, and a count it cannot explain a lot', () => {
    const classified = (dotsPerScanline: number) =>
      classify(raster(16_257_000, 882, 370, '+-', MONO, { dotsPerScanline }))
    const distance = (dotsPerScanline: number) => classified(dotsPerScanline).nearest.distance
    for (const dots of [882, 441]) expect(classified(dots).standard?.id).toBe('mda-350')
    expect(distance(882)).toBeLessThan(0.2)
    expect(distance(441)).toBeGreaterThan(distance(882))
    expect(distance(441)).toBeLessThan(2.5)
    expect(distance(853)).toBeGreaterThan(3)
  })

  it('lets the colour wires decide between equals', () => {
    const measured = (roles: readonly Role[]) => classify(raster(NTSC_4, 912, 262, '++', roles))
    expect(measured(RGBI).standard?.id).toBe('cga-200')
    expect(measured(SIX).standard?.id).toBe('ega-200')
    expect(measured(MONO).standard!.differences.map(({ quantity }) => quantity)).toContain('colour wires')
  })

  it('says which crystal a mono graphics board carries', () => {
    expect(classify(raster(16_257_000, 864, 370, '+-')).standard?.dotClockHz).toBe(16_257_000)
    expect(classify(raster(16_000_000, 864, 370, '+-')).standard?.dotClockHz).toBe(16_000_000)
  })
})

describe('captures that say something false', () => {
  it('keeps cga-200 when the rate label of the instrument is 0.227 % out, and names the rate', () => {
    const dotClockHz = NTSC_4 / 1.00227
    const widths = { vsyncWidthScanlines: 16, ...hsync(80, dotClockHz) }
    const { standard } = classify(raster(dotClockHz, 912, 262, '++', RGBI, widths))
    expect(standard?.id).toBe('cga-200')
    expect(standard!.confidence).toBeGreaterThanOrEqual(0.9)
    expect(standard!.differences.map(({ quantity }) => quantity)).toContain('scanline rate')
  })

  it('keeps it when a doubted time scale is 1.6 % out (41 ns for 41.667 ns)', () => {
    const dotClockHz = NTSC_4 * (41.667 / 41)
    const widths = { vsyncWidthScanlines: 16, ...hsync(80, dotClockHz), timeScaleTrusted: false }
    const { standard } = classify(raster(dotClockHz, 912, 262, '++', RGBI, widths))
    expect(standard?.id).toBe('cga-200')
    expect(standard!.confidence).toBeGreaterThanOrEqual(0.9)
  })

  it('takes 25.000 MHz for 640x480, as many designs do', () => {
    const { standard } = classify(raster(25_000_000, 800, 525, '--', ['red', 'green', 'blue']))
    expect(standard?.id).toBe('vga-480-60')
    expect(standard!.differences.map(({ quantity }) => quantity)).toContain('scanline rate')
  })

  it('takes 640x480 with both polarities wrong, and names both', () => {
    const { standard } = classify(raster(25_175_000, 800, 525, '++'))
    expect(standard?.id).toBe('vga-480-60')
    const named = standard!.differences.map(({ quantity, measured }) => `${quantity}: ${measured}`)
    expect(named).toContain('hsync polarity: positive')
    expect(named).toContain('vsync polarity: positive')
  })

  it('does not let a false dot count overrule rate, scanlines and polarity', () => {
    // the grid of a 24 MS/s instrument coheres at 1296 on a 54 us scanline
    const measured = raster(16_000_000, 864, 370, '+-', MONO, { dotsPerScanline: 1296 })
    expect(classify(measured).standard?.id).toBe('mono-348')
  })
})

describe('captures that say little', () => {
  const unseen = { dotsPerScanline: null }

  it('offers CGA and EGA for 15.70 kHz alone, neither with confidence', () => {
    const { standard, alternatives, familyNote } = classify(raster(NTSC_4, 912, null, '??', [], unseen))
    const offered = [standard, ...alternatives].filter((candidate) => candidate !== null)
    expect(offered.map(({ id }) => id)).toEqual(expect.arrayContaining(['cga-200', 'ega-200']))
    for (const { confidence } of offered) expect(confidence).toBeLessThan(0.9)
    expect(familyNote).toContain('width of vsync')
  })

  it('is never surer with fewer findings of the same raster', () => {
    const full = raster(16_257_000, 882, 370, '+-', MONO)
    const steps: Partial<MeasuredTiming>[] = [
      {},
      { roles: new Set<Role>() },
      { dotsPerScanline: null },
      { hsyncPolarity: null, vsyncPolarity: null },
      { scanlinesPerFrame: null, vsyncHz: null },
    ]
    let measured = full
    let before = 1
    for (const step of steps) {
      measured = { ...measured, ...step }
      const confidence = classify(measured).standard?.confidence ?? 0
      expect(confidence).toBeLessThanOrEqual(before)
      before = confidence
    }
    expect(before).toBeLessThan(0.9)
  })

  it('tells 350 from 400 lines at 449 scanlines by polarity, without dots', () => {
    expect(classify(raster(25_175_000, 800, 449, '+-', [], unseen)).standard?.id).toBe('vga-350-70')
    const { standard, alternatives, familyNote } = classify(raster(25_175_000, 800, 449, '-+', [], unseen))
    const offered = [standard!, ...alternatives]
    expect(
      offered
        .slice(0, 2)
        .map(({ id }) => id)
        .sort(),
    ).toEqual(['vga-400-70', 'vga-text-400-70'])
    expect(familyNote).toMatch(/800 against 900|900 against 800/)
  })

  it('takes the frame rate where the count of scanlines is missing', () => {
    const measured = raster(25_175_000, 800, 525, '--', [], { ...unseen, scanlinesPerFrame: null })
    expect(classify(measured).standard?.id).toBe('vga-480-60')
  })

  it('gives no answer for 31.47 kHz alone, but lists the four VGA timings', () => {
    const { standard, alternatives } = classify(raster(25_175_000, 800, null, '??', [], unseen))
    expect(standard).toBeNull()
    const ids = alternatives.map(({ id }) => id)
    expect(ids).toEqual(expect.arrayContaining(['vga-350-70', 'vga-400-70', 'vga-text-400-70', 'vga-480-60']))
  })

  it('does not call an accepted width a difference', () => {
    const { standard } = classify(
      raster(NTSC_4, 912, 262, '++', RGBI, { vsyncWidthScanlines: 16, ...hsync(160, NTSC_4) }),
    )
    expect(standard!.differences).toEqual([])
  })

  it('names the modes that share the 200-line timing', () => {
    const { familyNote } = classify(raster(NTSC_4, 912, 262, '++', RGBI, { vsyncWidthScanlines: 16 }))
    expect(familyNote).toContain('PCjr')
  })
})

describe('how many names an answer has', () => {
  it('has one where the row is told from all others', () => {
    const { family, familyConfidence, standard } = classify(raster(16_257_000, 882, 370, '+-', MONO))
    expect(family).toEqual([standard])
    expect(familyConfidence).toBe(standard!.confidence)
  })

  it('has both 400-line VGA timings where no dots were counted, surer of the two than of either', () => {
    const { family, familyConfidence, standard } = classify(
      raster(25_175_000, 800, 449, '-+', [], { dotsPerScanline: null, vsyncWidthScanlines: 2 }),
    )
    expect(family.map(({ id }) => id).sort()).toEqual(['vga-400-70', 'vga-text-400-70'])
    expect(familyConfidence).toBeGreaterThan(0.8)
    expect(standard!.confidence).toBeLessThan(0.55)
  })

  it('has all of them where the rate alone points to four, and none that is the answer', () => {
    const { family, standard, noneConfidence } = classify(
      raster(25_175_000, 800, null, '??', [], { dotsPerScanline: null }),
    )
    expect(standard).toBeNull()
    expect(family).toHaveLength(4)
    expect(noneConfidence).toBeLessThan(0.5)
  })

  it('has none where nothing listed matches', () => {
    const { family, familyConfidence, noneConfidence } = classify(raster(27e3 * 850, 850, 500, '--'))
    expect({ family, familyConfidence }).toEqual({ family: [], familyConfidence: 0 })
    expect(noneConfidence).toBeGreaterThan(0.99)
  })
})

describe('a relative of a listed timing is not that timing', () => {
  // every row, with one of the things that make a timing changed beyond what rows and instruments allow
  const rows = STANDARDS.filter(({ sameTimingAs, interlaced }) => sameTimingAs === undefined && !interlaced)
  const sign = (polarity: string | null) => (polarity === null ? '?' : polarity === 'positive' ? '+' : '-')
  const of = (row: (typeof STANDARDS)[number], more: Partial<MeasuredTiming>) =>
    classify(
      raster(
        row.dotClockHz,
        row.dotsPerScanline,
        row.scanlinesPerFrame,
        sign(row.hsyncPolarity) + sign(row.vsyncPolarity),
        [],
        { vsyncWidthScanlines: row.vertical.sync, ...hsync(row.horizontal.sync, row.dotClockHz), ...more },
      ),
    )

  it('by half a scanline more, which makes it interlaced', () => {
    for (const row of rows) {
      const { standard } = of(row, { scanlinesPerFrame: 2 * row.scanlinesPerFrame + 1, interlaced: true })
      // 312.5 is a listed timing of its own
      if (row.id === 'bbc-256') expect(standard?.id).toBe('bbc-256i')
      else expect(standard, row.id).toBeNull()
    }
  })

  it('by other scanlines', () => {
    for (const row of rows) {
      const { standard } = of(row, { scanlinesPerFrame: row.scanlinesPerFrame + 9, vsyncHz: null })
      expect(standard?.id, row.id).not.toBe(row.id)
    }
  })

  it('by 8 dots, where they were counted', () => {
    for (const row of rows) {
      const { standard } = of(row, { dotsPerScanline: row.dotsPerScanline + 8 })
      expect(standard?.id, row.id).not.toBe(row.id)
    }
  })

  it('and where nothing shows which, the answer is below 0.9', () => {
    for (const row of rows) {
      const noFrame = of(row, { scanlinesPerFrame: null, vsyncHz: null })
      expect(noFrame.standard?.confidence ?? 0, row.id).toBeLessThan(0.9)
      const noDots = of(row, { dotsPerScanline: null, hsyncWidthSeconds: null })
      expect(noDots.standard?.confidence ?? 0, row.id).toBeLessThan(0.9)
    }
  })
})

describe('none of these', () => {
  const strangers: { what: string; measured: MeasuredTiming }[] = [
    { what: '27 kHz, 500 lines', measured: raster(27e3 * 850, 850, 500, '--') },
    {
      what: '27 kHz, 500 lines, dots unknown',
      measured: raster(27e3 * 850, 850, 500, '--', [], { dotsPerScanline: null }),
    },
    { what: '640x480 counts at 27 MHz', measured: raster(27_000_000, 800, 525, '--') },
    { what: '24.0 kHz with the lines of a PC-98', measured: raster(24_000 * 830, 830, 440, '--') },
    { what: '12 kHz', measured: raster(12_000 * 768, 768, 240, '++') },
    { what: '100 kHz', measured: raster(160e6, 1600, 1000, '++') },
  ]
  test.each(strangers)('$what matches nothing, and the nearest row says where it differs', ({ measured }) => {
    const { standard, nearest, familyNote } = classify(measured)
    expect(standard).toBeNull()
    expect(familyNote).toBeNull()
    expect(nearest.confidence).toBeLessThan(0.5)
    expect(nearest.differences.map(({ quantity }) => quantity)).toContain('scanline rate')
  })

  it('finds the 24 kHz row nearest to 27 kHz', () => {
    expect(classify(raster(27e3 * 850, 850, 500, '--')).nearest.id).toBe('pc98-400')
  })
})

it('adds up: candidates never exceed certainty, and come best first', () => {
  for (const measured of [raster(NTSC_4, 912, 262, '++'), raster(31_500_000, 832, 500, '--')]) {
    const { standard, alternatives } = classify(measured)
    const all = [standard, ...alternatives].filter((candidate) => candidate !== null)
    expect(all.reduce((sum, { confidence }) => sum + confidence, 0)).toBeLessThanOrEqual(1 + 1e-9)
    const order = all.map(({ confidence }) => confidence)
    expect(order).toEqual([...order].sort((a, b) => b - a))
  }
})

it('refuses an empty catalogue', () => {
  expect(() => classify(raster(NTSC_4, 912, 262, '++'), [])).toThrow(RangeError)
})
