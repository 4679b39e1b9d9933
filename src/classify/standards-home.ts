// Digital RGB of home computers, 15 and 24 kHz.

import { NTSC_TIMES_4_HZ, standard, type Standard } from './standard.ts'

const C128 = 'Commodore C128 KERNAL source, tables for the 80-column controller'
const FBSET = 'Linux fbset 2.1 mode files'
const GDC =
  'uPD7220 SYNC parameters of the PC-98, decoded as in the Linux/98 console driver (LKML, 19 Oct 2002)'
const BEEB = 'BeebWiki, CRTC page, registers of modes 0 to 2'

const c128 = {
  dotClockHz: 16_000_000,
  activeDots: 640,
  activeScanlines: 200,
  // code 9 is 72 clocks; one reading of the controller takes one character off
  syncDotsAccepted: [72, 64],
  polarity: '++',
  colour: 'rgbi',
  mark: 'published, derived',
  note: 'Polarity from memory.',
} as const

const bbc = {
  dotClockHz: 16_000_000,
  dotsPerScanline: 1024,
  activeDots: 640,
  h: [144, 64, 176],
  polarity: '??',
  colour: 'rgb',
  mark: 'published, derived',
} as const

export const HOME_STANDARDS: readonly Standard[] = [
  standard({
    ...c128,
    id: 'c128-ntsc-200',
    name: 'C128 80 columns, 60 Hz',
    dotsPerScanline: 1016,
    scanlinesPerFrame: 264,
    h: [176, 72, 128],
    v: [32, 4, 28],
    source: `${C128}, NTSC set`,
  }),
  standard({
    ...c128,
    id: 'c128-pal-old-200',
    name: 'C128 80 columns, 50 Hz, first ROM',
    dotsPerScanline: 1016,
    scanlinesPerFrame: 320,
    h: [176, 72, 128],
    v: [56, 4, 60],
    source: `${C128}, PAL set of revision 03`,
  }),
  standard({
    ...c128,
    id: 'c128-pal-200',
    name: 'C128 80 columns, 50 Hz, later ROM',
    dotsPerScanline: 1024,
    scanlinesPerFrame: 312,
    // Commodore's release note of 11/15/85 gives 20.032 ms, which is 313
    scanlinesAccepted: [312, 313],
    h: [176, 72, 136],
    v: [56, 4, 52],
    source: `${C128}, PAL set of revision 05 (318020-04)`,
  }),
  standard({
    id: 'amiga-pal-256',
    name: 'Amiga PAL, 640x256',
    dotClockHz: 14_187_600,
    dotsPerScanline: 908,
    scanlinesPerFrame: 312,
    scanlinesAccepted: [312, 313],
    activeDots: 640,
    activeScanlines: 256,
    h: [86, 76, 106],
    v: [14, 2, 40],
    polarity: '--',
    colour: 'rgbi',
    source: `${FBSET}, PAL high resolution`,
    mark: 'published, derived',
  }),
  standard({
    id: 'amiga-ntsc-200',
    name: 'Amiga NTSC, 640x200',
    dotClockHz: NTSC_TIMES_4_HZ,
    dotsPerScanline: 908,
    scanlinesPerFrame: 262,
    scanlinesAccepted: [262, 263],
    activeDots: 640,
    activeScanlines: 200,
    h: [86, 76, 106],
    v: [16, 2, 44],
    polarity: '--',
    colour: 'rgbi',
    // the mode file has 908 dots on every scanline; the machine alternates 908 and 912, so the mean is 910 (-0.22 %)
    rateTolerance: 0.0025,
    source: `${FBSET}, NTSC high resolution`,
    mark: 'published, derived',
    note: 'The machine itself averages 227.5 colour clocks a scanline: 15.734 kHz (from memory).',
  }),
  standard({
    id: 'pc98-400',
    name: 'PC-98 and relatives, 640x400 at 24 kHz',
    dotClockHz: 21_052_600,
    dotsPerScanline: 848,
    scanlinesPerFrame: 440,
    // 448: the PC-88 with 25 text rows (55.416 Hz, measured)
    scanlinesAccepted: [440, 448],
    activeDots: 640,
    activeScanlines: 400,
    h: [80, 64, 64],
    v: [7, 8, 25],
    polarity: '--',
    colour: 'rgb',
    source: `${GDC}, 24 kHz set`,
    mark: 'published, derived',
    note: 'Polarity from memory.',
  }),
  standard({
    id: 'pc98-200',
    name: 'PC-98 and relatives, 640x200 at 16 kHz',
    dotClockHz: NTSC_TIMES_4_HZ,
    dotsPerScanline: 896,
    scanlinesPerFrame: 260,
    // 256: the PC-88 with 25 text rows (62.422 Hz, measured)
    scanlinesAccepted: [260, 256],
    activeDots: 640,
    activeScanlines: 200,
    h: [80, 64, 112],
    v: [15, 8, 37],
    polarity: '--',
    colour: 'rgb',
    source: `${GDC}, 15 kHz set`,
    mark: 'published, derived',
    note: 'Polarity from memory.',
  }),
  standard({
    ...bbc,
    id: 'bbc-256',
    name: 'BBC micro style, 640x256',
    scanlinesPerFrame: 312,
    activeScanlines: 256,
    v: [16, 2, 38],
    source: BEEB,
  }),
  standard({
    ...bbc,
    id: 'bbc-256i',
    name: 'BBC micro style, 640x256, interlaced sync',
    scanlinesPerFrame: 625,
    activeScanlines: 512,
    interlaced: true,
    v: [16, 2, 38.5],
    source: `${BEEB}; half a scanline more per field (50.00 Hz) with interlace on`,
    note: 'Both fields show the same 256 scanlines.',
  }),
]
