// The demo of the README: an invented harbour whose tide board, a card with a nine-pin connector, has lost its monitor.
// Captured with a cheap instrument, over a ground lead that is too long.

import { CELL_DOTS, letterDot } from './demo-lettering.ts'
import { drawSignal } from './draw-signal.ts'
import type { Picture } from './pictures.ts'
import { sampleSignal } from './sample-signal.ts'
import { TIMINGS, type Timing } from './timings.ts'
import { writeCapture } from './write-capture.ts'

/** Colour numbers of a six-wire output, r' g' b' R G B from bit 5 down, by what they look like. */
const INK = {
  night: 0x08,
  sea: 0x01,
  foam: 0x3b,
  tower: 0x3f,
  stripe: 0x24,
  rock: 0x38,
  lamp: 0x3e,
  beam: 0x14,
  sand: 0x26,
  text: 0x3f,
  quiet: 0x07,
}

const TIDES = ['HIGH  04:12  5.8', 'LOW   10:31  1.1', 'HIGH  16:40  6.1', 'LOW   22:55  0.9']

/** The board: a lighthouse at night beside the day's tides. */
function boardColour(x: number, y: number): number {
  const lettering = textAt(x, y)
  if (lettering !== undefined) return lettering
  const shore = 236 + Math.round(5 * Math.sin(x / 37))
  if (y > shore) {
    const wave = Math.sin(x / (9 + (y - shore) / 8) + y * 1.7)
    return wave > 0.93 && (y < 312 || y > 337) ? INK.foam : INK.sea
  }
  const tower = towerColour(x, y)
  if (tower !== undefined) return tower
  if (x > 118 && y > 84 && y < 112 && Math.abs(y - 98) < (x - 118) / 12 && (x + y) % 3 === 0) return INK.beam
  if ((x * 7919 + y * 104_729) % 1511 === 0) return INK.text
  return INK.night
}

function towerColour(x: number, y: number): number | undefined {
  const half = 14 + (y - 110) / 9
  if (y >= 110 && y < 232 && Math.abs(x - 96) < half)
    return Math.floor((y - 110) / 20) % 2 === 0 ? INK.tower : INK.stripe
  if (y >= 84 && y < 110 && Math.abs(x - 96) < 13)
    return Math.abs(y - 98) < 7 && Math.abs(x - 96) < 8 ? INK.lamp : INK.rock
  if (y >= 72 && y < 84 && Math.abs(x - 96) < y - 70) return INK.stripe
  if (y >= 214 && Math.abs(x - 96) < 26 + (y - 214)) return INK.rock
  return undefined
}

function textAt(x: number, y: number): number | undefined {
  const column = x - 248
  if (column < 0)
    return y >= 318 && y < 332
      ? line('QUAY CLOCK 03:57  WIND NW 4', x - 24, y - 318, 2, INK.quiet)
      : undefined
  if (y >= 24 && y < 45) return line('LANTERN QUAY', column, y - 24, 3, INK.lamp)
  if (y >= 56 && y < 70) return line('TIDE BOARD', column, y - 56, 2, INK.sand)
  for (const [index, text] of TIDES.entries()) {
    const top = 120 + 24 * index
    if (y >= top && y < top + 14) return line(text, column, y - top, 2, INK.text)
  }
  if (y >= 318 && y < 332) return line('QUAY CLOCK 03:57  WIND NW 4', x - 24, y - 318, 2, INK.quiet)
  return undefined
}

function line(text: string, x: number, y: number, size: number, colour: number): number | undefined {
  const lit =
    x >= 0 &&
    x < text.length * CELL_DOTS * size &&
    letterDot(text, Math.floor(x / size), Math.floor(y / size))
  return lit ? colour : undefined
}

/** Colour numbers → dot codes by the names of the timing's channels. */
function board(timing: Timing): Picture {
  const bits: Readonly<Record<string, number>> = { r: 5, g: 4, b: 3, R: 2, G: 1, B: 0 }
  const codes = new Uint16Array(timing.h.active * timing.v.active)
  for (let y = 0; y < timing.v.active; y++) {
    for (let x = 0; x < timing.h.active; x++) {
      const frame = x < 2 || y < 2 || x >= timing.h.active - 2 || y >= timing.v.active - 2
      const colour = frame ? INK.quiet : boardColour(x, y)
      let code = 0
      timing.channels.forEach((name, bit) => {
        if ((colour >> bits[name]!) & 1) code |= 1 << bit
      })
      codes[y * timing.h.active + x] = code
    }
  }
  return { widthDots: timing.h.active, heightScanlines: timing.v.active, codes }
}

/** `fixtures/demo/tide-board.vcd.gz`: two and a bit frames at 24 MS/s; hsync rings on some scanlines. */
export function tideBoardCapture(): Uint8Array {
  const timing = TIMINGS.ega350with366
  const signal = drawSignal(timing, board(timing), {
    frames: 2.15,
    startFrames: 0.9,
    dotClockErrorPpm: 41,
    seed: 7,
    ringing: { edge: 'trailing', delaySeconds: 0.35e-6, widthSeconds: 0.2e-6, probability: 0.012 },
  })
  return writeCapture(sampleSignal(signal, { sampleRateHz: 24e6, phase: 0.31 }), {
    kind: 'vcd',
    timescale: '1 ns',
    gzip: true,
  })
}
