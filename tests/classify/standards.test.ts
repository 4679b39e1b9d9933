import { describe, expect, it, test } from 'vitest'
import { STANDARDS, fieldRateHz, scanlineRateHz, standardById } from '../../src/classify/standards.ts'

describe('every row', () => {
  test.each(STANDARDS)('$id: porches, sync and picture add up to the totals', (row) => {
    const { horizontal: h, vertical: v } = row
    expect(row.activeDots + h.frontPorch + h.sync + h.backPorch).toBe(row.dotsPerScanline)
    const sweeps = row.interlaced ? 2 : 1
    expect(row.activeScanlines / sweeps + v.frontPorch + v.sync + v.backPorch).toBe(
      row.scanlinesPerFrame / sweeps,
    )
  })

  test.each(STANDARDS)('$id: what it accepts begins with what it states', (row) => {
    expect(row.scanlinesAccepted[0]).toBe(row.scanlinesPerFrame)
    expect(row.syncDotsAccepted[0]).toBe(row.horizontal.sync)
    expect(row.vsyncScanlinesAccepted[0]).toBe(row.vertical.sync)
    expect(row.source).not.toBe('')
  })

  it('has an id of its own, and is found by it in either case', () => {
    expect(new Set(STANDARDS.map(({ id }) => id)).size).toBe(STANDARDS.length)
    for (const row of STANDARDS) {
      expect(row.id).toMatch(/^[a-z0-9-]+$/)
      expect(standardById(row.id.toUpperCase())).toBe(row)
    }
    expect(standardById('cga-201')).toBeUndefined()
  })

  it('stands in only for rows of the same totals, with crystal and accepted widths to match', () => {
    const aliases = STANDARDS.filter(({ sameTimingAs }) => sameTimingAs !== undefined)
    expect(aliases.length).toBeGreaterThan(5)
    for (const row of aliases) {
      const family = standardById(row.sameTimingAs!)!
      expect(family.sameTimingAs).toBeUndefined()
      expect(row.dotsPerScanline).toBe(family.dotsPerScanline)
      expect(row.scanlinesPerFrame).toBe(family.scanlinesPerFrame)
      expect([family.dotClockHz, ...family.dotClockVariantsHz]).toContain(row.dotClockHz)
      expect(family.syncDotsAccepted).toContain(row.horizontal.sync)
      expect(family.vsyncScanlinesAccepted).toContain(row.vertical.sync)
    }
  })

  it('includes the timing families that scripts rely on', () => {
    const promised = [
      'mda-350 mono-348 cga-200 ega-200 ega-350 ega-mono-350 vga-350-70 vga-400-70 vga-text-400-70 vga-480-60',
      'dmt-01 dmt-02 dmt-03 dmt-04 dmt-05 dmt-06 dmt-07 dmt-08 dmt-09 dmt-0a dmt-0b dmt-0c dmt-0d dmt-0e dmt-0f',
      'dmt-10 dmt-11 dmt-12',
    ].flatMap((words) => words.split(' '))
    for (const id of promised) expect(standardById(id), id).toBeDefined()
  })
})

describe('rates as published', () => {
  /** Rates typed from the document named; a tolerance of half its last digit. */
  const published: { id: string; hsyncKhz: number; digits: number; vsyncHz?: number; source: string }[] = [
    {
      id: 'mda-350',
      hsyncKhz: 18.432,
      digits: 3,
      source: 'IBM PC TR 6025005, monochrome display, 18.432 kHz',
    },
    { id: 'cga-200', hsyncKhz: 15.7, digits: 2, vsyncHz: 59.92, source: '14.318181 MHz / 912 / 262' },
    {
      id: 'ega-350',
      hsyncKhz: 21.85,
      digits: 2,
      vsyncHz: 59.7,
      source: 'IBM enhanced display 21.85 kHz; 59.702 Hz',
    },
    { id: 'ega-350-40', hsyncKhz: 21.618, digits: 3, source: '16.257 MHz / (47 x 16)' },
    { id: 'ega-mono-350', hsyncKhz: 18.263, digits: 3, vsyncHz: 49.36, source: '14.318181 MHz / 784 / 370' },
    { id: 'vga-480-60', hsyncKhz: 31.469, digits: 3, vsyncHz: 59.94, source: 'monitor preset tables' },
    { id: 'vga-350-70', hsyncKhz: 31.469, digits: 3, vsyncHz: 70.09, source: 'monitor preset tables' },
    { id: 'vga-400-70', hsyncKhz: 31.469, digits: 3, vsyncHz: 70.09, source: 'monitor preset tables' },
    { id: 'vga-text-400-70', hsyncKhz: 31.469, digits: 3, vsyncHz: 70.09, source: 'monitor preset tables' },
    { id: 'pc98-400', hsyncKhz: 24.826, digits: 3, vsyncHz: 56.42, source: 'GDC console driver, 24.8 kHz' },
    { id: 'c128-pal-200', hsyncKhz: 15.625, digits: 3, vsyncHz: 50.08, source: '64 us scanline' },
    { id: 'c128-ntsc-200', hsyncKhz: 15.748, digits: 3, vsyncHz: 59.65, source: '63.5 us scanline' },
    { id: 'amiga-pal-256', hsyncKhz: 15.625, digits: 3, vsyncHz: 50.08, source: 'fbset PAL mode file' },
    { id: 'bbc-256', hsyncKhz: 15.625, digits: 3, vsyncHz: 50.08, source: '64 us, 312 scanlines' },
    { id: 'bbc-256i', hsyncKhz: 15.625, digits: 3, vsyncHz: 50, source: '64 us, 312.5 scanlines' },
  ]
  test.each(published)('$id: $hsyncKhz kHz ($source)', ({ id, hsyncKhz, digits, vsyncHz }) => {
    const row = standardById(id)!
    expect(scanlineRateHz(row) / 1000).toBeCloseTo(hsyncKhz, digits)
    if (vsyncHz !== undefined) expect(Math.abs(fieldRateHz(row) - vsyncHz)).toBeLessThan(0.006)
  })
})

describe('MC6845 registers', () => {
  /**
   * MC6845 data sheet: R0 = characters - 1, R1 = displayed, R2 = sync position, R3 = sync width,
   * R4 = rows - 1, R5 = extra scanlines, R6 = displayed rows, R7 = sync row, R9 = scanlines per row - 1;
   * vsync is 16 scanlines wide, unless the part takes its width from R3 bits 7-4.
   */
  function crtc(hex: string, dotsPerCharacter: number, vsyncScanlines = 16) {
    const [r0, r1, r2, r3, r4, r5, r6, r7, , r9] = hex
      .split(' ')
      .map((byte) => parseInt(byte, 16)) as number[]
    const dots = (characters: number) => characters * dotsPerCharacter
    const perRow = r9! + 1
    const total = (r4! + 1) * perRow + r5!
    const sync = r3! & 15
    return {
      dotsPerScanline: dots(r0! + 1),
      activeDots: dots(r1!),
      horizontal: { frontPorch: dots(r2! - r1!), sync: dots(sync), backPorch: dots(r0! + 1 - r2! - sync) },
      scanlinesPerFrame: total,
      activeScanlines: r6! * perRow,
      vertical: {
        frontPorch: (r7! - r6!) * perRow,
        sync: vsyncScanlines,
        backPorch: total - r7! * perRow - vsyncScanlines,
      },
    }
  }

  const sets = [
    {
      id: 'mda-350',
      hex: '61 50 52 0F 19 06 19 19 02 0D',
      character: 9,
      source: 'IBM PC TR 6025005 p. 2-41',
    },
    { id: 'mono-348', hex: '35 2D 2E 07 5B 02 57 57 02 03', character: 16, source: 'Linux hgafb.c' },
    { id: 'mono-348-16257khz', hex: '35 2D 2E 07 5B 02 57 57 02 03', character: 16, source: 'Linux hgafb.c' },
    {
      id: 'mono-350-16mhz',
      hex: '61 50 52 0F 19 06 19 19 02 0D',
      character: 9,
      source: 'Linux hgafb.c, text',
    },
    { id: 'cga-200', hex: '71 50 5A 0A 1F 06 19 1C 02 07', character: 8, source: 'IBM PC TR 6025005, 80x25' },
    { id: 'cga-40-200', hex: '38 28 2D 0A 1F 06 19 1C 02 07', character: 16, source: 'IBM PC TR, 40x25' },
    {
      id: 'cga-graphics-200',
      hex: '38 28 2D 0A 7F 06 64 70 02 01',
      character: 16,
      source: 'IBM PC TR, graphics',
    },
    { id: 'pcjr-80-200', hex: '71 50 5A 0C 1F 06 19 1C 02 07', character: 8, source: 'register_values.txt' },
    { id: 'pcjr-40-200', hex: '38 28 2C 06 1F 06 19 1C 02 07', character: 16, source: 'register_values.txt' },
    {
      id: 'pcjr-graphics-200',
      hex: '38 28 2B 06 7F 06 64 70 02 01',
      character: 16,
      source: 'register_values.txt',
    },
    // R3 bits 7-4 = 2 scanlines, R7 = 22h, 39 rows of 8; BeebWiki, CRTC page (R1 50h, R6 20h)
    { id: 'bbc-256', hex: '7F 50 62 28 26 00 20 22 01 07', character: 8, vsync: 2, source: 'BeebWiki' },
    // the 80-column controller of the C128 counts as a 6845 does (KERNAL tables, registers 0 to 7 and 9)
    {
      id: 'c128-ntsc-200',
      hex: '7E 50 66 49 20 00 19 1D 00 07',
      character: 8,
      vsync: 4,
      source: 'C128 KERNAL, NTSC',
    },
    {
      id: 'c128-pal-old-200',
      hex: '7E 50 66 49 27 00 19 20 00 07',
      character: 8,
      vsync: 4,
      source: 'C128 rev 03',
    },
    {
      id: 'c128-pal-200',
      hex: '7F 50 66 49 26 00 19 20 00 07',
      character: 8,
      vsync: 4,
      source: 'C128 rev 05',
    },
  ]
  test.each(sets)('$id: $source', ({ id, hex, character, vsync }) => {
    expect(standardById(id)).toMatchObject(crtc(hex, character, vsync))
  })
})

describe('EGA BIOS parameter tables', () => {
  /**
   * IBM Enhanced Graphics Adapter manual, pp. 12 ff and 62-68. Horizontal total register = characters - 2; end codes
   * keep the low 5 (horizontal) or 4 (vertical) bits; horizontal end bits 6-5 delay sync, those of end blanking (03)
   * the display, by that many characters;
   * overflow register 07: bit 0 = vertical total bit 8, bit 1 = display end bit 8, bit 2 = retrace start bit 8.
   * Vertical total read as register + 2 (see the note in standards-ega.ts).
   */
  function ega(first: string, from10: string, dotsPerCharacter: number) {
    const a = first.split(' ').map((byte) => parseInt(byte, 16))
    const b = from10.split(' ').map((byte) => parseInt(byte, 16))
    const overflow = a[7]!
    const bit8 = (bit: number) => ((overflow >> bit) & 1) << 8
    const characters = a[0]! + 2
    const displayed = a[1]! + 1
    const start = a[4]!
    const code = a[5]! & 31
    let width = (code - start) & 31
    // the counter restarts at the total, and the end code is then met in the next scanline
    if (start + width > characters) width = characters - start + code
    const syncDelay = (a[5]! >> 5) & 3
    const displayDelay = (a[3]! >> 5) & 3
    const scanlines = (a[6]! | bit8(0)) + 2
    const shown = (b[2]! | bit8(1)) + 1
    const vStart = b[0]! | bit8(2)
    let vEnd = (vStart & ~15) | (b[1]! & 15)
    if (vEnd <= vStart) vEnd += 16
    return {
      dotsPerScanline: characters * dotsPerCharacter,
      activeDots: displayed * dotsPerCharacter,
      hFrontPorch: (start + syncDelay - displayDelay - displayed) * dotsPerCharacter,
      syncDots: width * dotsPerCharacter,
      scanlinesPerFrame: scanlines,
      activeScanlines: shown,
      vFrontPorch: vStart - shown,
      vSync: vEnd - vStart,
    }
  }

  const sets = [
    { id: 'ega-40-200', first: '37 27 2D 37 31 15 04 11', from10: 'E1 24 C7', character: 16, mode: '0, 1' },
    { id: 'ega-200', first: '70 4F 5C 2F 5F 07 04 11', from10: 'E1 24 C7', character: 8, mode: '2, 3' },
    {
      id: 'ega-320-200',
      first: '37 27 2D 37 30 14 04 11',
      from10: 'E1 24 C7',
      character: 16,
      mode: '4, 5, 0Dh',
    },
    { id: 'ega-640-200', first: '70 4F 59 2D 5E 06 04 11', from10: 'E0 23 C7', character: 8, mode: '6, 0Eh' },
    {
      id: 'ega-text-350',
      first: '5B 4F 53 37 51 5B 6C 1F',
      from10: '5E 2B 5D',
      character: 8,
      mode: '2*, 3*',
    },
    { id: 'ega-350-40', first: '2D 27 2B 2D 28 6D 6C 1F', from10: '5E 2B 5D', character: 16, mode: '0*, 1*' },
    { id: 'ega-350', first: '5B 4F 53 37 52 00 6C 1F', from10: '5E 2B 5D', character: 8, mode: '10h' },
    {
      id: 'ega-64k-350',
      first: '5B 4F 53 17 50 BA 6C 1F',
      from10: '5E 2B 5D',
      character: 8,
      mode: '10h, 64 K',
    },
    {
      id: 'ega-mono-text-350',
      first: '60 4F 56 3A 51 60 70 1F',
      from10: '5E 2E 5D',
      character: 9,
      mode: '7',
    },
    { id: 'ega-mono-350', first: '60 4F 56 3A 50 60 70 1F', from10: '5E 2E 5D', character: 8, mode: '0Fh' },
  ]
  test.each(sets)('$id: mode $mode', ({ id, first, from10, character }) => {
    const row = standardById(id)!
    expect({
      dotsPerScanline: row.dotsPerScanline,
      activeDots: row.activeDots,
      hFrontPorch: row.horizontal.frontPorch,
      syncDots: row.horizontal.sync,
      scanlinesPerFrame: row.scanlinesPerFrame,
      activeScanlines: row.activeScanlines,
      vFrontPorch: row.vertical.frontPorch,
      vSync: row.vertical.sync,
    }).toEqual(ega(first, from10, character))
  })
})

describe('VGA registers', () => {
  /**
   * Published VGA register tables: horizontal total = characters - 5, vertical total = scanlines - 2, end codes keep
   * the low 5 or 4 bits, overflow 07 holds bit 8 of total, display end and retrace start in bits 0, 1, 2 and bit 9 in
   * bits 5, 6, 7. Misc Output bits 7 and 6: negative vsync, negative hsync; bits 3-2: crystal.
   * Horizontal porches are left out: the VGA's pipeline shifts them.
   */
  function vga(misc: number, first: string, from10: string, dotsPerCharacter: number) {
    const a = first.split(' ').map((byte) => parseInt(byte, 16))
    const b = from10.split(' ').map((byte) => parseInt(byte, 16))
    const overflow = a[7]!
    const bits = (low: number, high: number) =>
      (((overflow >> low) & 1) << 8) | (((overflow >> high) & 1) << 9)
    const shown = (b[2]! | bits(1, 6)) + 1
    const start = b[0]! | bits(2, 7)
    return {
      dotClockHz: (misc >> 2) & 3 ? 28_322_000 : 25_175_000,
      hsyncPolarity: misc & 0x40 ? 'negative' : 'positive',
      vsyncPolarity: misc & 0x80 ? 'negative' : 'positive',
      dotsPerScanline: (a[0]! + 5) * dotsPerCharacter,
      activeDots: (a[1]! + 1) * dotsPerCharacter,
      syncDots: ((a[5]! - a[4]!) & 31) * dotsPerCharacter,
      scanlinesPerFrame: (a[6]! | bits(0, 5)) + 2,
      activeScanlines: shown,
      vFrontPorch: start - shown,
      vSync: (b[1]! - start) & 15,
    }
  }

  const sets = [
    { id: 'vga-text-400-70', misc: 0x67, first: '5F 4F 50 82 55 81 BF 1F', from10: '9C 8E 8F', character: 9 },
    { id: 'vga-400-70', misc: 0x63, first: '5F 4F 50 82 54 80 BF 1F', from10: '9C 8E 8F', character: 8 },
    { id: 'vga-350-70', misc: 0xa3, first: '5F 4F 50 82 54 80 BF 1F', from10: '83 85 5D', character: 8 },
    { id: 'vga-480-60', misc: 0xe3, first: '5F 4F 50 82 54 80 0B 3E', from10: 'EA 8C DF', character: 8 },
  ]
  test.each(sets)('$id', ({ id, misc, first, from10, character }) => {
    const row = standardById(id)!
    expect({
      dotClockHz: row.dotClockHz,
      hsyncPolarity: row.hsyncPolarity,
      vsyncPolarity: row.vsyncPolarity,
      dotsPerScanline: row.dotsPerScanline,
      activeDots: row.activeDots,
      syncDots: row.horizontal.sync,
      scanlinesPerFrame: row.scanlinesPerFrame,
      activeScanlines: row.activeScanlines,
      vFrontPorch: row.vertical.frontPorch,
      vSync: row.vertical.sync,
    }).toEqual(vga(misc, first, from10, character))
  })
})

describe('uPD7220 SYNC parameters', () => {
  /** As the Linux/98 console driver decodes them (LKML, 19 Oct 2002); characters of 8 dots. */
  function gdc(hex: string) {
    const p = [0, ...hex.split(' ').map((byte) => parseInt(byte, 16))] as number[]
    return {
      activeDots: (p[2]! + 2) * 8,
      horizontal: {
        frontPorch: ((p[4]! >> 2) + 1) * 8,
        sync: ((p[3]! & 31) + 1) * 8,
        backPorch: ((p[5]! & 63) + 1) * 8,
      },
      activeScanlines: ((p[8]! & 3) << 8) | p[7]!,
      vertical: { frontPorch: p[6]! & 63, sync: ((p[4]! & 3) << 3) | (p[3]! >> 5), backPorch: p[8]! >> 2 },
    }
  }
  test.each([
    ['pc98-400', '10 4E 07 25 07 07 90 65'],
    ['pc98-200', '10 4E 07 25 0D 0F C8 94'],
  ])('%s', (id, hex) => {
    expect(standardById(id)).toMatchObject(gdc(hex))
  })
})
