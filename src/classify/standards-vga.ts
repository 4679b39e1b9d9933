// The four IBM VGA timings at 31.469 kHz; the polarities tell a monitor which height to use.

import { standard, type Standard } from './standard.ts'

/** Pixel-clock tolerance of the VESA DMT, relative. From memory: no copy at hand states it. */
export const VESA_TOLERANCE = 0.005

const REGISTERS = 'Register-value collection 8088/cga/register_values.txt (commit 474aced), VGA sets'
const POLARITY = 'polarity from IBM PS/2 Displays maintenance manual (1993), 1.1.1'

const vga = {
  dotClockHz: 25_175_000,
  dotsPerScanline: 800,
  activeDots: 640,
  h: [16, 96, 48],
  colour: 'analog',
  rateTolerance: VESA_TOLERANCE,
  mark: 'published, derived',
} as const

export const VGA_STANDARDS: readonly Standard[] = [
  standard({
    ...vga,
    id: 'vga-350-70',
    name: 'VGA 640x350 at 70 Hz',
    scanlinesPerFrame: 449,
    activeScanlines: 350,
    v: [37, 2, 60],
    polarity: '+-',
    source: `${REGISTERS}, mode 10h; ${POLARITY}`,
  }),
  standard({
    ...vga,
    id: 'vga-400-70',
    name: 'VGA 640x400 at 70 Hz',
    scanlinesPerFrame: 449,
    activeScanlines: 400,
    v: [12, 2, 35],
    polarity: '-+',
    source: `${REGISTERS}, 400-line modes; ${POLARITY}`,
    note: 'Also every 200-line mode of the VGA, each scanline shown twice.',
  }),
  standard({
    ...vga,
    id: 'vga-text-400-70',
    name: 'VGA text 720x400 at 70 Hz',
    dotClockHz: 28_322_000,
    dotsPerScanline: 900,
    scanlinesPerFrame: 449,
    activeDots: 720,
    activeScanlines: 400,
    h: [18, 108, 54],
    v: [12, 2, 35],
    polarity: '-+',
    source: `${REGISTERS}, mode 3; ${POLARITY}`,
    note: 'The EDID established timing says 28.320 MHz, 70 ppm less.',
  }),
  standard({
    ...vga,
    id: 'vga-480-60',
    name: 'VGA 640x480 at 60 Hz',
    scanlinesPerFrame: 525,
    activeScanlines: 480,
    v: [10, 2, 33],
    polarity: '--',
    source: `${REGISTERS}, mode 12h; ${POLARITY}`,
    mark: 'published',
  }),
]
