import { describe, expect, it, test } from 'vitest'
import { MONITOR_KINDS, monitorsFor, whyNotDirect } from '../../src/adapter/monitor-kinds.ts'
import { OutputClocks } from '../../src/adapter/output-clock.ts'
import { bufferSizes, outputChoices, type InputMode } from '../../src/adapter/output-modes.ts'
import { standard, type Standard } from '../../src/classify/standard.ts'
import { STANDARDS } from '../../src/classify/standards.ts'

// typed from the published tables named, not taken from the catalogue
const cga: InputMode = {
  // IBM PC Technical Reference 6025005: 14.318 MHz, 912 clocks by 262 scanlines, 640 by 200 shown
  dotClockHz: 157.5e6 / 11,
  dotsPerScanline: 912,
  scanlinesPerFrame: 262,
  activeDots: 640,
  activeScanlines: 200,
  hsyncHz: 157.5e6 / 11 / 912,
  vsyncHz: 157.5e6 / 11 / 912 / 262,
}
const ega: InputMode = {
  // IBM Enhanced Graphics Adapter manual: 16.257 MHz, 744 by 366, 640 by 350 shown
  dotClockHz: 16.257e6,
  dotsPerScanline: 744,
  scanlinesPerFrame: 366,
  activeDots: 640,
  activeScanlines: 350,
  hsyncHz: 16.257e6 / 744,
  vsyncHz: 16.257e6 / 744 / 366,
}

/** 640x480 at 60 Hz as VESA DMT 04h prints it. */
function vga480(more: Partial<Parameters<typeof standard>[0]> = {}): Standard {
  return standard({
    id: 'out-480',
    name: '640x480',
    dotClockHz: 25.175e6,
    dotsPerScanline: 800,
    scanlinesPerFrame: 525,
    activeDots: 640,
    activeScanlines: 480,
    h: [16, 96, 48],
    v: [10, 2, 33],
    polarity: '--',
    colour: 'analog',
    rateTolerance: 0.005,
    source: 'VESA DMT 04h',
    mark: 'published',
    ...more,
  })
}

describe('classic cases', () => {
  test('200 lines at 15.7 kHz double to 31.4 kHz with a scanline buffer', () => {
    const [best] = outputChoices(cga, STANDARDS)
    expect(best).toMatchObject({
      id: 'vga-480-60',
      scanlineRepeat: 2,
      lineBufferOnly: true,
      frameRateBeatHz: 0,
      beatSeconds: null,
      // two scanlines of 640 dots
      bufferBytes: 1280,
      borders: { leftDots: 0, rightDots: 0, topScanlines: 40, bottomScanlines: 40 },
    })
    expect(best!.hsyncHz / 1e3).toBeCloseTo(31.4, 1)
    expect(best!.vsyncHz).toBeCloseTo(59.92, 2)
    // 800 dots for each half of a card's scanline
    expect(best!.dotClockHz).toBeCloseTo(2 * 800 * cga.hsyncHz, 3)
    expect(best!.notes.join()).toMatch(/524 scanlines .* 525/)
  })

  test('640x350 at one byte per dot needs 224 000 bytes', () => {
    const choices = outputChoices(ega, STANDARDS)
    const straight = choices.find(({ id, scanlineRepeat }) => id === 'vga-350-70' && scanlineRepeat === 1)!
    expect(straight).toMatchObject({ bufferBytes: 224_000, lineBufferOnly: false })
    expect(straight.buffers.frameBytePerDotBytes).toBe(224_000)
    expect(choices.every(({ lineBufferOnly }) => !lineBufferOnly)).toBe(true)
    // 70.09 against 59.70 frames a second
    expect(straight.frameRateBeatHz).toBeCloseTo(25.175e6 / 800 / 449 - 16.257e6 / 744 / 366, 6)
    expect(straight.beatSeconds).toBeCloseTo(1 / straight.frameRateBeatHz, 12)
    expect(straight.notes.join()).toMatch(/shown twice every 9\d ms/)
  })

  test.each([
    { bitsPerDot: 1, scanlineBytes: 80, framePackedBytes: 28_000, frameBytePerDotBytes: 224_000 },
    { bitsPerDot: 4, scanlineBytes: 320, framePackedBytes: 112_000, frameBytePerDotBytes: 224_000 },
    { bitsPerDot: 6, scanlineBytes: 480, framePackedBytes: 168_000, frameBytePerDotBytes: 224_000 },
    { bitsPerDot: 12, scanlineBytes: 960, framePackedBytes: 336_000, frameBytePerDotBytes: 448_000 },
  ])('640x350 at $bitsPerDot bits', ({ bitsPerDot, ...sizes }) => {
    expect(bufferSizes(ega, bitsPerDot)).toEqual(sizes)
  })
})

describe('choices', () => {
  it('repeat as often as the output is high, and never show a part of the picture only', () => {
    const repeats = outputChoices(cga, [
      vga480({ activeScanlines: 600, v: [1, 4, 23], scanlinesPerFrame: 628 }),
    ])
    expect(repeats.map(({ scanlineRepeat }) => scanlineRepeat).sort()).toEqual([1, 2, 3])
    expect(outputChoices({ ...cga, activeDots: 641 }, [vga480()])).toEqual([])
    expect(outputChoices({ ...cga, activeScanlines: 481 }, [vga480()])).toEqual([])
    for (const { borders, scanlineRepeat, dotRepeat, id } of outputChoices(cga, STANDARDS)) {
      const row = STANDARDS.find((it) => it.id === id)!
      expect(borders.topScanlines + borders.bottomScanlines + 200 * scanlineRepeat).toBe(row.activeScanlines)
      expect(borders.leftDots + borders.rightDots + 640 * dotRepeat).toBe(row.activeDots)
      expect(Math.min(...Object.values(borders))).toBeGreaterThanOrEqual(0)
    }
  })

  it('leave out what a VGA monitor cannot be sent', () => {
    const rows = [vga480({ colour: 'rgbi' }), vga480({ interlaced: true }), vga480({ sameTimingAs: 'other' })]
    expect(outputChoices(cga, rows)).toEqual([])
  })

  it('follow the card only while both rates stay within the tolerance of the mode', () => {
    const at = (h: number, v: number): boolean =>
      outputChoices({ ...cga, hsyncHz: (31_468.75 / 2) * h, vsyncHz: (31_468.75 / 525) * v }, [
        vga480(),
      ]).find(({ scanlineRepeat }) => scanlineRepeat === 2)!.lineBufferOnly
    expect(at(1.0049, 0.9951)).toBe(true)
    expect(at(1.0051, 1)).toBe(false)
    expect(at(1, 0.9949)).toBe(false)
  })

  it('fit or not by the memory stated, and put what fits first', () => {
    const choices = outputChoices(ega, STANDARDS, { ramBytes: 223_999 })
    expect(choices.some(({ fits }) => fits)).toBe(false)
    expect(choices[0]!.notes.join()).toContain('needs 224000 bytes, the adapter has 223999')
    expect(outputChoices(ega, STANDARDS, { ramBytes: 224_000 })[0]!.fits).toBe(true)
    const packed = outputChoices(ega, STANDARDS, { ramBytes: 168_000, bitsPerDot: 6 })[0]!
    expect(packed).toMatchObject({ fits: true, bufferBytes: 168_000 })
    expect(packed.notes.join()).toContain('fits packed only')
    const mixed = outputChoices(cga, STANDARDS, { ramBytes: 2000 }).map(({ fits }) => fits)
    expect(mixed[0]).toBe(true)
    expect(mixed.lastIndexOf(true)).toBeLessThan(mixed.indexOf(false))
  })

  it('leave frames out where the output is slower than the card', () => {
    const slow = { ...cga, vsyncHz: 61, hsyncHz: 16_000 }
    const [choice] = outputChoices(slow, [vga480()])
    expect(choice!.notes.join()).toMatch(/left out every/)
  })

  it('report the rates that the described clock really makes', () => {
    // 250 MHz / 10 = 25.0 MHz, 0.7 % below 25.175: outside 0.5 %
    const [off] = outputChoices(ega, [vga480()], { adapter: { clockHz: 250e6 } })
    expect(off!.clock).toMatchObject({ clocksPerDot: 10, madeHz: 25e6, withinTolerance: false })
    expect(off!.clock!.errorPpm).toBeCloseTo((25 / 25.175 - 1) * 1e6, 6)
    expect(off!.hsyncHz).toBeCloseTo(31_250, 6)
    expect(off!.notes.join()).toMatch(/no nearer than -6951 ppm/)
    const [near] = outputChoices(ega, [vga480()], { adapter: { clockHz: 252e6 } })
    expect(near!.clock).toMatchObject({ clocksPerDot: 10, withinTolerance: true })
    expect(outputChoices(ega, [vga480()])[0]!.clock).toBeNull()
  })
})

describe('output clock', () => {
  it('is the nearest of all the PLL makes', () => {
    const pll = {
      referenceHz: 12e6,
      multiplier: { min: 16, max: 320 },
      vcoHz: { min: 750e6, max: 1600e6 },
      postDividerStages: [
        { min: 1, max: 7 },
        { min: 1, max: 7 },
      ],
    }
    const clocks = new OutputClocks({ pll })
    for (const wanted of [25.175e6, 28.322e6, 36e6, 31.5e6, 65e6]) {
      let least = Infinity
      for (let n = 63; n <= 133; n++)
        for (let a = 1; a <= 7; a++)
          for (let b = 1; b <= 7; b++)
            for (let m = 1; m <= 100; m++)
              least = Math.min(least, Math.abs((12e6 * n) / (a * b * m) / wanted - 1) * 1e6)
      expect(Math.abs(clocks.nearest(wanted, 0.005)!.errorPpm)).toBeCloseTo(least, 6)
    }
    expect(new OutputClocks({}).nearest(25e6, 0.005)).toBeUndefined()
  })
})

describe('monitors', () => {
  test('most VGA monitors refuse less than 31 kHz (common practice)', () => {
    expect(monitorsFor(31_469, 59.94)).toContain('VGA CRT of fixed scanline rate')
    expect(monitorsFor(31_469, 59.94).length).toBeGreaterThan(2)
    for (const hz of [18_432, 21_850, 24_000])
      expect(monitorsFor(hz, 60)).toEqual(['early multi-scan CRT, 15.5 to 35 kHz'])
    expect(monitorsFor(31_469, 110)).toEqual([])
  })

  test('name the source of every limit', () => {
    for (const { source, scanlineHz, frameHz } of MONITOR_KINDS) {
      expect(source).not.toBe('')
      expect(scanlineHz[0]).toBeLessThan(scanlineHz[1])
      expect(frameHz[0]).toBeLessThan(frameHz[1])
    }
  })

  it('are the first reason against a straight cable, levels the next', () => {
    expect(whyNotDirect(15_700, 59.92)[0]).toMatch(/15\.70 kHz.*31 kHz/)
    expect(whyNotDirect(15_700, 59.92)[1]).toMatch(/0\.7 V into 75 ohm/)
    expect(whyNotDirect(31_469, 70.09)[0]).toMatch(/logic levels/)
    expect(whyNotDirect(90_000, 60)[0]).toMatch(/No kind of VGA monitor/)
  })
})
