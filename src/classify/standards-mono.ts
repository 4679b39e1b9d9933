// Monochrome text and graphics near 18.4 kHz: the video + intensity pair of the 9-pin connector.

import { NTSC_TIMES_4_HZ, standard, type Standard } from './standard.ts'

/** Crystal of the monochrome adapter: 9 dots in 553 ns (IBM Monochrome Display and Printer Adapter manual). */
const MONO_CRYSTAL_HZ = 16_257_000
/** The round crystal many boards with mono graphics carry instead. */
const ROUND_CRYSTAL_HZ = 16_000_000

const GRAPHICS_REGISTERS = 'Mono graphics register table in the Linux kernel, drivers/video/fbdev/hgafb.c'
const EGA_MANUAL = 'IBM Enhanced Graphics Adapter manual (1984), BIOS parameter tables pp. 62-68'

const graphics348 = {
  dotsPerScanline: 864,
  scanlinesPerFrame: 370,
  activeDots: 720,
  activeScanlines: 348,
  h: [16, 112, 16],
  v: [0, 16, 6],
  polarity: '+-',
  colour: 'mono',
  mark: 'published, derived',
} as const

/** 350-line text of the monochrome adapter; the totals are 98 characters of 9 dots and 26 rows of 14 scanlines plus 6. */
const text350 = {
  dotsPerScanline: 882,
  scanlinesPerFrame: 370,
  activeDots: 720,
  activeScanlines: 350,
  h: [18, 135, 9],
  v: [0, 16, 4],
  polarity: '+-',
  colour: 'mono',
  mark: 'published, derived',
} as const

export const MONO_STANDARDS: readonly Standard[] = [
  standard({
    ...text350,
    id: 'mda-350',
    name: 'MDA text, 720x350',
    dotClockHz: MONO_CRYSTAL_HZ,
    // 369 appears where someone divided the nominal 18.432 kHz by the nominal 50 Hz
    scanlinesAccepted: [370, 369],
    source:
      'IBM PC Technical Reference 6025005 (Aug 1981), p. 2-41, controller registers; ' +
      'crystal from the 553 ns character time in the adapter manual',
  }),
  standard({
    ...graphics348,
    id: 'mono-348',
    name: 'Mono graphics, 720x348',
    dotClockHz: ROUND_CRYSTAL_HZ,
    dotClockVariantsHz: [MONO_CRYSTAL_HZ],
    source: `${GRAPHICS_REGISTERS}; both crystals are met`,
    note: 'Boards carry 16.000 or 16.257 MHz; polarity is that of the MDA, whose monitor they drive.',
  }),
  standard({
    ...graphics348,
    id: 'mono-348-16257khz',
    name: 'Mono graphics, 720x348, 16.257 MHz crystal',
    dotClockHz: MONO_CRYSTAL_HZ,
    sameTimingAs: 'mono-348',
    source: `${GRAPHICS_REGISTERS}; crystal of the MDA`,
  }),
  standard({
    ...text350,
    id: 'mono-350-16mhz',
    name: 'Mono text, 720x350, 16.000 MHz crystal',
    dotClockHz: ROUND_CRYSTAL_HZ,
    source: `${GRAPHICS_REGISTERS}, text set; round crystal`,
  }),
  standard({
    ...text350,
    id: 'ega-mono-text-350',
    name: 'EGA mode 7, mono text, 720x350',
    dotClockHz: MONO_CRYSTAL_HZ,
    h: [27, 135, 0],
    sameTimingAs: 'mda-350',
    source: `${EGA_MANUAL}, mode 7`,
  }),
  standard({
    id: 'ega-mono-350',
    name: 'EGA mode 0Fh, mono graphics, 640x350',
    dotClockHz: NTSC_TIMES_4_HZ,
    dotsPerScanline: 784,
    scanlinesPerFrame: 370,
    activeDots: 640,
    activeScanlines: 350,
    h: [16, 128, 0],
    v: [0, 16, 4],
    polarity: '+-',
    colour: 'mono',
    source: `${EGA_MANUAL}, mode 0Fh with more than 64 K; Misc Output A2h selects 14.318 MHz`,
    mark: 'published, derived',
    note: 'Slower than MDA: 18.263 kHz. Video is on the secondary blue wire, intensity on secondary green.',
  }),
]
