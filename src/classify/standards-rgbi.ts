// The 200-line colour modes of 912 clocks by 262 scanlines at 14.318 MHz: one timing, many cards and modes.

import { NTSC_TIMES_4_HZ, standard, type Standard } from './standard.ts'

const IBM_PC = 'IBM PC Technical Reference 6025005 (Aug 1981), colour/graphics adapter pp. 2-49 to 2-58'
const EGA_MANUAL = 'IBM Enhanced Graphics Adapter manual (1984), BIOS parameter tables pp. 62-68'
const PCJR = 'Register-value collection 8088/cga/register_values.txt (commit 474aced), PCjr sets'

/** 228 periods of the colour subcarrier, 4 dots each, by 262 scanlines. */
const raster912 = {
  dotClockHz: NTSC_TIMES_4_HZ,
  dotsPerScanline: 912,
  scanlinesPerFrame: 262,
  activeDots: 640,
  activeScanlines: 200,
  polarity: '++',
  mark: 'published, derived',
} as const

/** The MC6845 makes vsync 16 scanlines wide, always (its data sheet, register R3). */
const cga = { ...raster912, v: [24, 16, 22], colour: 'rgbi' } as const

const ega = { ...raster912, v: [25, 3, 34], colour: 'rgbrgb' } as const

export const RGBI_STANDARDS: readonly Standard[] = [
  standard({
    ...cga,
    id: 'cga-200',
    name: 'CGA and compatible, 200 lines',
    h: [80, 80, 112],
    // 80 and 160: controller, one or two clocks per character dot; 96: PCjr; 64: cut short on the way to composite
    syncDotsAccepted: [80, 160, 96, 64],
    // 3: cut short on the way to composite
    vsyncScanlinesAccepted: [16, 3],
    source: `${IBM_PC}, 80-column text registers`,
    note:
      'Stands for every 200-line mode of the 14.318 MHz cards, Tandy 1000 included. A period pin-out exists that ' +
      'calls vsync negative; IBM says positive.',
  }),
  standard({
    ...cga,
    id: 'cga-40-200',
    name: 'CGA text, 40 columns',
    h: [80, 160, 32],
    sameTimingAs: 'cga-200',
    source: `${IBM_PC}, 40-column text registers`,
  }),
  standard({
    ...cga,
    id: 'cga-graphics-200',
    name: 'CGA graphics, 320x200 and 640x200',
    h: [80, 160, 32],
    sameTimingAs: 'cga-200',
    source: `${IBM_PC}, graphics registers`,
  }),
  standard({
    ...cga,
    id: 'pcjr-80-200',
    name: 'PCjr text, 80 columns',
    h: [80, 96, 96],
    sameTimingAs: 'cga-200',
    source: PCJR,
    note: 'Polarity from memory.',
  }),
  standard({
    ...cga,
    id: 'pcjr-40-200',
    name: 'PCjr text, 40 columns',
    h: [64, 96, 112],
    sameTimingAs: 'cga-200',
    source: PCJR,
    note: 'Polarity from memory.',
  }),
  standard({
    ...cga,
    id: 'pcjr-graphics-200',
    name: 'PCjr graphics, 200 lines',
    h: [48, 96, 128],
    sameTimingAs: 'cga-200',
    source: PCJR,
    note: 'Polarity from memory.',
  }),
  standard({
    ...ega,
    id: 'ega-200',
    name: 'EGA, 200-line modes',
    h: [112, 64, 96],
    source: `${EGA_MANUAL}, modes 2 and 3`,
    note: 'The monitor reads the six wires as RGBI here: positive vsync tells it so, secondary green is intensity.',
  }),
  standard({
    ...ega,
    id: 'ega-40-200',
    name: 'EGA text, 40 columns, 200 lines',
    h: [128, 64, 80],
    sameTimingAs: 'ega-200',
    source: `${EGA_MANUAL}, modes 0 and 1`,
  }),
  standard({
    ...ega,
    id: 'ega-320-200',
    name: 'EGA graphics, 320x200',
    h: [112, 64, 96],
    sameTimingAs: 'ega-200',
    source: `${EGA_MANUAL}, modes 4, 5 and 0Dh`,
  }),
  standard({
    ...ega,
    id: 'ega-640-200',
    name: 'EGA graphics, 640x200',
    h: [104, 64, 104],
    v: [24, 3, 35],
    sameTimingAs: 'ega-200',
    source: `${EGA_MANUAL}, modes 6 and 0Eh`,
  }),
]
