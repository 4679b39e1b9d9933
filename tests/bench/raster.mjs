// One frame of a real raster as a list of code changes in dots, with an invented screen in it. What the instrument and
// the file make of it is inputs.mjs' business.

/** 4 times the NTSC colour subcarrier of 315/88 MHz. IBM PC Technical Reference 6025005, colour/graphics adapter. */
export const DOT_CLOCK_HZ = 157.5e6 / 11

/**
 * Colour card, 80-column text, from hsync's and vsync's leading edges. MC6845 registers of IBM PC Technical Reference
 * 6025005, pp. 2-49 to 2-58: R0..R9 = 71 50 5A 0A 1F 06 19 1C 02 07, 8 dots/character.
 */
const H = { sync: 80, backPorch: 112, active: 640, total: 912 }
const V = { sync: 16, backPorch: 22, active: 200, total: 262 }

export const DOTS_PER_SCANLINE = H.total
export const SCANLINES_PER_FRAME = V.total
export const DOTS_PER_FRAME = H.total * V.total
export const SCANLINE_HZ = DOT_CLOCK_HZ / H.total

const HSYNC = 1
const VSYNC = 2
const FIRST_COLOUR_BIT = 2

/**
 * @typedef {object} FrameChanges
 * @property {Uint32Array} dot where the code changes, in dots from the frame's start, rising
 * @property {Uint8Array} code levels from that dot on: bit i is channel i, hsync and vsync first
 * @property {number} idle code before the first change
 */

/**
 * @param {'text' | 'dither'} screen sparse characters on black, or every channel dithered at every dot
 * @param {number} colours number of colour channels, at most 6
 * @returns {FrameChanges}
 */
export function drawFrame(screen, colours) {
  const paint = screen === 'text' ? textPainter(colours) : ditherPainter(colours)
  const left = H.sync + H.backPorch
  const top = V.sync + V.backPorch
  const dots = []
  const codes = []
  let idle = -1
  let before = -1
  for (let y = 0; y < V.total; y++) {
    for (let x = 0; x < H.total; x++) {
      // vsync changes where the active dots begin: with the first character of a row
      const inVsync = y * H.total + x >= left && y * H.total + x < V.sync * H.total + left
      const lit = x >= left && x < left + H.active && y >= top && y < top + V.active
      const colour = lit ? paint(x - left, y - top) : 0
      const code = (x < H.sync ? HSYNC : 0) | (inVsync ? VSYNC : 0) | (colour << FIRST_COLOUR_BIT)
      if (code === before) continue
      dots.push(y * H.total + x)
      codes.push(code)
      before = code
    }
  }
  idle = before
  return { dot: Uint32Array.from(dots), code: Uint8Array.from(codes), idle }
}

/** Xorshift with the triple 13, 17, 5: Journal of Statistical Software 8 (14), 2003, section 3. */
function newRandom(seed) {
  let state = seed
  return () => {
    state ^= state << 13
    state ^= state >>> 17
    state ^= state << 5
    return state >>> 0
  }
}

function ditherPainter(colours) {
  const random = newRandom(0x2f6e2b1)
  return (x, y) => {
    let code = 0
    for (let bit = 0; bit < colours; bit++) {
      // gradients of their own, so that no channel is a copy of another
      const share = 0.3 + (0.4 * (bit % 2 === 0 ? x / H.active : y / V.active) + bit * 0.05)
      if (random() / 2 ** 32 < share) code |= 1 << bit
    }
    return code
  }
}

function textPainter(colours) {
  const random = newRandom(0x51ab3c7)
  const columns = H.active / 8
  const glyphs = Array.from({ length: 48 }, () => Array.from({ length: 8 }, () => random() & random() & 0xfe))
  const cells = Array.from({ length: columns * (V.active / 8) }, () => {
    const written = random() % 3 === 0
    return { glyph: written ? random() % glyphs.length : -1, ink: 1 + (random() % (2 ** colours - 1)) }
  })
  return (x, y) => {
    const cell = cells[(y >> 3) * columns + (x >> 3)]
    if (cell.glyph < 0) return 0
    return (glyphs[cell.glyph][y & 7] >> (7 - (x & 7))) & 1 ? cell.ink : 0
  }
}
