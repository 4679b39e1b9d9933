// VESA DMT timings 01h to 12h, the low end of the list that TTL-era monitors and adapters meet.

import { standard, type Standard } from './standard.ts'
import { VESA_TOLERANCE } from './standards-vga.ts'

type Row = Parameters<typeof standard>[0]
type Short = Omit<Row, 'id' | 'name' | 'colour' | 'source' | 'mark' | 'dotClockHz'> & { megahertz: number }

function dmt(code: string, size: string, { megahertz, ...row }: Short): Standard {
  return standard({
    ...row,
    id: `dmt-${code}`,
    name: `VESA DMT ${code.toUpperCase()}h, ${size}`,
    dotClockHz: megahertz * 1e6,
    colour: 'analog',
    rateTolerance: VESA_TOLERANCE,
    source: `VESA DMT v1.0 rev. 13, timing ${code.toUpperCase()}h`,
    mark: 'published',
  })
}

// prettier-ignore
export const DMT_STANDARDS: readonly Standard[] = [
  dmt('01', '640x350 at 85 Hz', { megahertz: 31.5, dotsPerScanline: 832, activeDots: 640, h: [32, 64, 96], scanlinesPerFrame: 445, activeScanlines: 350, v: [32, 3, 60], polarity: '+-' }),
  dmt('02', '640x400 at 85 Hz', { megahertz: 31.5, dotsPerScanline: 832, activeDots: 640, h: [32, 64, 96], scanlinesPerFrame: 445, activeScanlines: 400, v: [1, 3, 41], polarity: '-+' }),
  dmt('03', '720x400 at 85 Hz', { megahertz: 35.5, dotsPerScanline: 936, activeDots: 720, h: [36, 72, 108], scanlinesPerFrame: 446, activeScanlines: 400, v: [1, 3, 42], polarity: '-+' }),
  // printed as 8/96/40 and 2/2/25 between borders of 8
  dmt('04', '640x480 at 60 Hz', { megahertz: 25.175, dotsPerScanline: 800, activeDots: 640, h: [16, 96, 48], scanlinesPerFrame: 525, activeScanlines: 480, v: [10, 2, 33], polarity: '--', sameTimingAs: 'vga-480-60' }),
  // printed as 16/40/120 and 1/3/20 between borders of 8
  dmt('05', '640x480 at 72 Hz', { megahertz: 31.5, dotsPerScanline: 832, activeDots: 640, h: [24, 40, 128], scanlinesPerFrame: 520, activeScanlines: 480, v: [9, 3, 28], polarity: '--' }),
  dmt('06', '640x480 at 75 Hz', { megahertz: 31.5, dotsPerScanline: 840, activeDots: 640, h: [16, 64, 120], scanlinesPerFrame: 500, activeScanlines: 480, v: [1, 3, 16], polarity: '--' }),
  dmt('07', '640x480 at 85 Hz', { megahertz: 36, dotsPerScanline: 832, activeDots: 640, h: [56, 56, 80], scanlinesPerFrame: 509, activeScanlines: 480, v: [1, 3, 25], polarity: '--' }),
  dmt('08', '800x600 at 56 Hz', { megahertz: 36, dotsPerScanline: 1024, activeDots: 800, h: [24, 72, 128], scanlinesPerFrame: 625, activeScanlines: 600, v: [1, 2, 22], polarity: '++' }),
  dmt('09', '800x600 at 60 Hz', { megahertz: 40, dotsPerScanline: 1056, activeDots: 800, h: [40, 128, 88], scanlinesPerFrame: 628, activeScanlines: 600, v: [1, 4, 23], polarity: '++' }),
  dmt('0a', '800x600 at 72 Hz', { megahertz: 50, dotsPerScanline: 1040, activeDots: 800, h: [56, 120, 64], scanlinesPerFrame: 666, activeScanlines: 600, v: [37, 6, 23], polarity: '++' }),
  dmt('0b', '800x600 at 75 Hz', { megahertz: 49.5, dotsPerScanline: 1056, activeDots: 800, h: [16, 80, 160], scanlinesPerFrame: 625, activeScanlines: 600, v: [1, 3, 21], polarity: '++' }),
  dmt('0c', '800x600 at 85 Hz', { megahertz: 56.25, dotsPerScanline: 1048, activeDots: 800, h: [32, 64, 152], scanlinesPerFrame: 631, activeScanlines: 600, v: [1, 3, 27], polarity: '++' }),
  dmt('0d', '800x600 at 120 Hz, reduced blanking', { megahertz: 73.25, dotsPerScanline: 960, activeDots: 800, h: [48, 32, 80], scanlinesPerFrame: 636, activeScanlines: 600, v: [3, 4, 29], polarity: '+-' }),
  dmt('0e', '848x480 at 60 Hz', { megahertz: 33.75, dotsPerScanline: 1088, activeDots: 848, h: [16, 112, 112], scanlinesPerFrame: 517, activeScanlines: 480, v: [6, 8, 23], polarity: '++', displayAspect: 16 / 9 }),
  dmt('0f', '1024x768 at 87 Hz, interlaced', { megahertz: 44.9, dotsPerScanline: 1264, activeDots: 1024, h: [8, 176, 56], scanlinesPerFrame: 817, activeScanlines: 768, v: [0.5, 4, 20], polarity: '++', interlaced: true }),
  dmt('10', '1024x768 at 60 Hz', { megahertz: 65, dotsPerScanline: 1344, activeDots: 1024, h: [24, 136, 160], scanlinesPerFrame: 806, activeScanlines: 768, v: [3, 6, 29], polarity: '--' }),
  dmt('11', '1024x768 at 70 Hz', { megahertz: 75, dotsPerScanline: 1328, activeDots: 1024, h: [24, 136, 144], scanlinesPerFrame: 806, activeScanlines: 768, v: [3, 6, 29], polarity: '--' }),
  dmt('12', '1024x768 at 75 Hz', { megahertz: 78.75, dotsPerScanline: 1312, activeDots: 1024, h: [16, 96, 176], scanlinesPerFrame: 800, activeScanlines: 768, v: [1, 3, 28], polarity: '++' }),
]
