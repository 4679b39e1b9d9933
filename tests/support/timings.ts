// What cards put on their connectors, typed from the published documents. Not shared with src/: a wrong row in the
// catalogue must not be confirmed by a copy of itself.

/** Dots of a scanline, or scanlines of a field; `total` is the sum of the other four. */
interface Axis {
  active: number
  frontPorch: number
  sync: number
  backPorch: number
  total: number
}

/**
 * A card's timing. Scanlines start at hsync's leading edge: sync, back porch, active, front porch; borders count as
 * porch. Scanline 0 of a frame is the one in which vsync's leading edge falls.
 */
export interface Timing {
  name: string
  /** Document and place; register arithmetic where the numbers follow from published registers. */
  source: string
  dotClockHz: number
  /** Dots. */
  h: Axis
  /** Scanlines; with `interlaced`, those of one field, and `total` ends in .5. */
  v: Axis
  hsyncPolarity: 'positive' | 'negative'
  vsyncPolarity: 'positive' | 'negative'
  /** Short probe names of the colour channels; bit i of a dot's code is channels[i]. */
  channels: readonly string[]
  /** Bits of a code that the card can drive; the other channels are wired and stay low. */
  codeMask: number
  /** Where in the scanline vsync changes, in dots after hsync's leading edge. */
  vsyncOffsetDots: number
  /** The card shows pictures of half the dots, each two dot clocks wide. */
  doubleWidth?: boolean
  interlaced?: boolean
}

/** 4 times the NTSC colour subcarrier of 315/88 MHz. IBM PC Technical Reference 6025005, colour/graphics adapter. */
const COLOUR_CLOCK_HZ = 157.5e6 / 11

const axis = (active: number, frontPorch: number, sync: number, backPorch: number): Axis => ({
  active,
  frontPorch,
  sync,
  backPorch,
  total: active + frontPorch + sync + backPorch,
})

const MONO = { channels: ['video', 'I'], codeMask: 0b11 }
const RGBI = { channels: ['R', 'G', 'B', 'I'], codeMask: 0b1111 }
const RGB = { channels: ['R', 'G', 'B'], codeMask: 0b111 }
const SIX = { channels: ['R', 'G', 'B', 'r', 'g', 'b'], codeMask: 0b111111 }

export type TimingKey =
  | 'mda'
  | 'mono348'
  | 'cga80'
  | 'cgaGraphics'
  | 'cga320'
  | 'ega200'
  | 'ega350with366'
  | 'ega350with364'
  | 'vgaText400'
  | 'vga400'
  | 'vga480'
  | 'uncatalogued'
  | 'interlaced'

/** Every timing by a short key. */
export const TIMINGS: Record<TimingKey, Timing> = {
  // MC6845: one scanline is R0 + 1 characters; vsync lasts 16 scanlines and begins with the first character of
  // row R7, so it changes where the active dots begin: sync + back porch after hsync.
  mda: {
    name: 'MDA 720x350',
    source:
      'IBM PC Technical Reference 6025005, p. 2-41: R0..R9 = 61 50 52 0F 19 06 19 19 02 0D, 9 dots/character',
    dotClockHz: 16.257e6,
    h: axis(720, 18, 135, 9),
    v: axis(350, 0, 16, 4),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'negative',
    ...MONO,
    vsyncOffsetDots: 144,
  },
  mono348: {
    name: 'mono graphics 720x348, 16.000 MHz',
    source:
      'Linux kernel, drivers/video/fbdev/hgafb.c: R0..R9 = 35 2D 2E 07 5B 02 57 57 02 03, 16 dots/character; 16 MHz crystal',
    dotClockHz: 16e6,
    h: axis(720, 16, 112, 16),
    v: axis(348, 0, 16, 6),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'negative',
    ...MONO,
    vsyncOffsetDots: 128,
  },
  cga80: {
    name: 'CGA 640x200, 80-column text sync',
    source:
      'IBM PC Technical Reference 6025005, pp. 2-49 to 2-58: R0..R9 = 71 50 5A 0A 1F 06 19 1C 02 07, 8 dots/character',
    dotClockHz: COLOUR_CLOCK_HZ,
    h: axis(640, 80, 80, 112),
    v: axis(200, 24, 16, 22),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'positive',
    ...RGBI,
    vsyncOffsetDots: 192,
  },
  cgaGraphics: {
    name: 'CGA 640x200, graphics sync',
    source:
      'IBM PC Technical Reference 6025005, pp. 2-49 to 2-58: R0..R9 = 38 28 2D 0A 7F 06 64 70 02 01, 16 dots/character',
    dotClockHz: COLOUR_CLOCK_HZ,
    h: axis(640, 80, 160, 32),
    v: axis(200, 24, 16, 22),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'positive',
    ...RGBI,
    vsyncOffsetDots: 192,
  },
  cga320: {
    name: 'CGA 320x200, dots two clocks wide',
    source: 'as cgaGraphics; 320-dot modes shift at half the clock',
    dotClockHz: COLOUR_CLOCK_HZ,
    h: axis(640, 80, 160, 32),
    v: axis(200, 24, 16, 22),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'positive',
    ...RGBI,
    vsyncOffsetDots: 192,
    doubleWidth: true,
  },
  // IBM Enhanced Graphics Adapter, 1984: horizontal total register = characters - 2. The table does not say where in
  // the scanline vsync changes; the rows below differ in it on purpose.
  ega200: {
    name: 'EGA 640x200',
    source:
      'IBM Enhanced Graphics Adapter, 1984, pp. 62-68, mode 0Eh: misc 23, CRTC 70 4F 59 2D 5E 06 04 .. E0 23 C7',
    dotClockHz: COLOUR_CLOCK_HZ,
    h: axis(640, 104, 64, 104),
    v: axis(200, 24, 3, 35),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'positive',
    channels: SIX.channels,
    // the palettes of the 200-line modes use bits 0-2 and 4 alone (same tables)
    codeMask: 0b010111,
    vsyncOffsetDots: 0,
  },
  ega350with366: {
    name: 'EGA 640x350, 366 scanlines',
    source:
      'IBM Enhanced Graphics Adapter, 1984, pp. 62-68, mode 3*: misc A7, CRTC 5B 4F 53 37 51 5B 6C .. 5E 2B 5D; total register + 2',
    dotClockHz: 16.257e6,
    h: axis(640, 16, 80, 8),
    v: axis(350, 0, 13, 3),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'negative',
    ...SIX,
    vsyncOffsetDots: 0,
  },
  ega350with364: {
    name: 'EGA 640x350, 364 scanlines',
    source: 'as ega350with366, with the total register (16C hex) taken literally as the register text has it',
    dotClockHz: 16.257e6,
    h: axis(640, 16, 80, 8),
    v: axis(350, 0, 13, 1),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'negative',
    ...SIX,
    vsyncOffsetDots: 40,
  },
  // Polarities of the VGA family: IBM PS/2 Displays maintenance manual, 1993, 1.1.1 (- + for 400 scanlines, - - for 480).
  vgaText400: {
    name: 'VGA 720x400',
    source:
      'VGA mode 3 registers: misc 67, CRTC 5F 4F 50 82 55 81 BF 1F .. 9C 8E 8F, 9 dots/character; 28.322 MHz',
    dotClockHz: 28.322e6,
    h: axis(720, 18, 108, 54),
    v: axis(400, 12, 2, 35),
    hsyncPolarity: 'negative',
    vsyncPolarity: 'positive',
    ...RGB,
    vsyncOffsetDots: 0,
  },
  vga400: {
    name: 'VGA 640x400',
    source: 'VGA 400-scanline registers: misc 63, 100 characters of 8 dots, 449 scanlines; 25.175 MHz',
    dotClockHz: 25.175e6,
    h: axis(640, 16, 96, 48),
    v: axis(400, 12, 2, 35),
    hsyncPolarity: 'negative',
    vsyncPolarity: 'positive',
    ...RGB,
    vsyncOffsetDots: 0,
  },
  vga480: {
    name: 'VGA 640x480',
    source: 'VESA DMT 04h (8/96/40 dots and 2/2/25 scanlines there, plus borders of 8 dots and 8 scanlines)',
    dotClockHz: 25.175e6,
    h: axis(640, 16, 96, 48),
    v: axis(480, 10, 2, 33),
    hsyncPolarity: 'negative',
    vsyncPolarity: 'negative',
    channels: ['R1', 'G1', 'B1', 'R0', 'G0', 'B0'],
    codeMask: 0b111111,
    vsyncOffsetDots: 0,
  },
  uncatalogued: {
    name: '656x516 in no catalogue',
    source: 'invented: 27.000 kHz, 48.2 Hz',
    dotClockHz: 21.384e6,
    h: axis(656, 24, 56, 56),
    v: axis(516, 9, 5, 30),
    hsyncPolarity: 'negative',
    vsyncPolarity: 'positive',
    ...RGBI,
    vsyncOffsetDots: 37,
  },
  interlaced: {
    name: '640x400 interlaced, two fields of 262.5 scanlines',
    source:
      'invented on the dots of cga80; 525 scanlines a frame as in any 2:1 interlace of that scanline rate',
    dotClockHz: COLOUR_CLOCK_HZ,
    h: axis(640, 80, 80, 112),
    v: axis(200, 24.5, 3, 35),
    hsyncPolarity: 'positive',
    vsyncPolarity: 'positive',
    ...RGBI,
    vsyncOffsetDots: 0,
    interlaced: true,
  },
}

/** All rows, for table-driven tests. */
export const ALL_TIMINGS: readonly Timing[] = Object.values(TIMINGS)
