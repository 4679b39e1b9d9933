// The 350-line colour modes of the EGA near 21.8 kHz: six colour wires, negative vsync.

import { standard, type Standard } from './standard.ts'

const EGA_MANUAL = 'IBM Enhanced Graphics Adapter manual (1984), BIOS parameter tables pp. 62-68'

const ega350 = {
  dotClockHz: 16_257_000,
  dotsPerScanline: 744,
  scanlinesPerFrame: 366,
  // Vertical total register 16Ch = 364. Register + 2 is right for this table's other modes (262 and 370 are known
  // totals), so 366 leads; readings as 365 and as a plain 364 are both in print and no bench measurement was found.
  scanlinesAccepted: [366, 365, 364],
  activeDots: 640,
  activeScanlines: 350,
  v: [0, 13, 3],
  polarity: '+-',
  colour: 'rgbrgb',
  mark: 'published, derived',
} as const

export const EGA_STANDARDS: readonly Standard[] = [
  standard({
    ...ega350,
    id: 'ega-350',
    name: 'EGA, 640x350',
    h: [8, 88, 8],
    // 80: text, and graphics with 64 K; 112: the programmed 14 characters, if the end code did not wrap at the total
    syncDotsAccepted: [88, 80, 112],
    source: `${EGA_MANUAL}, mode 10h with more than 64 K`,
  }),
  standard({
    ...ega350,
    id: 'ega-text-350',
    name: 'EGA text, 80 columns, 350 lines',
    h: [16, 80, 8],
    sameTimingAs: 'ega-350',
    source: `${EGA_MANUAL}, modes 2 and 3 on the enhanced display`,
    note: '43-row text differs only in its font.',
  }),
  standard({
    ...ega350,
    id: 'ega-64k-350',
    name: 'EGA, 640x350 with 64 K',
    h: [8, 80, 16],
    sameTimingAs: 'ega-350',
    source: `${EGA_MANUAL}, mode 10h with 64 K`,
  }),
  standard({
    ...ega350,
    id: 'ega-350-40',
    name: 'EGA text, 40 columns, 350 lines',
    dotsPerScanline: 752,
    h: [32, 80, 0],
    source: `${EGA_MANUAL}, modes 0 and 1 on the enhanced display`,
    note: '47 characters of 16 clocks: 1.1 % slower than the 80-column mode.',
  }),
]
