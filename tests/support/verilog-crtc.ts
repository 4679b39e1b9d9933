// Captures that a Verilog simulator writes: verilog-crtc.v programmed with published registers. The second opinion's
// second opinion, with no arithmetic shared with draw-signal.ts.

import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** A programmed card. */
interface CrtcProgram {
  source: string
  /** R0 to R9 (R8 only chooses interlace, and is 02 = none, everywhere). */
  registers: readonly number[]
  dotsPerCharacter: number
  /** Dot period, rounded to whole picoseconds for the simulator. */
  dotPicoseconds: number
  connector: 'rgbi_connector' | 'mono_connector'
}

export type CrtcProgramKey = 'mdaText' | 'mono348' | 'cga80' | 'cgaGraphics'

const COLOUR_DOT_PICOSECONDS = Math.round(11e12 / 157.5e6)

export const CRTC_PROGRAMS: Record<CrtcProgramKey, CrtcProgram> = {
  mdaText: {
    source: 'IBM PC Technical Reference 6025005, p. 2-41; 16.257 MHz',
    registers: [0x61, 0x50, 0x52, 0x0f, 0x19, 0x06, 0x19, 0x19, 0x02, 0x0d],
    dotsPerCharacter: 9,
    dotPicoseconds: Math.round(1e12 / 16.257e6),
    connector: 'mono_connector',
  },
  mono348: {
    source: 'Linux kernel, drivers/video/fbdev/hgafb.c, graphics registers; 16 MHz crystal',
    registers: [0x35, 0x2d, 0x2e, 0x07, 0x5b, 0x02, 0x57, 0x57, 0x02, 0x03],
    dotsPerCharacter: 16,
    dotPicoseconds: 62500,
    connector: 'mono_connector',
  },
  cga80: {
    source: 'IBM PC Technical Reference 6025005, pp. 2-49 to 2-58, 80-column text; 14.318 MHz',
    registers: [0x71, 0x50, 0x5a, 0x0a, 0x1f, 0x06, 0x19, 0x1c, 0x02, 0x07],
    dotsPerCharacter: 8,
    dotPicoseconds: COLOUR_DOT_PICOSECONDS,
    connector: 'rgbi_connector',
  },
  cgaGraphics: {
    source: 'IBM PC Technical Reference 6025005, pp. 2-49 to 2-58, graphics; 14.318 MHz',
    registers: [0x38, 0x28, 0x2d, 0x0a, 0x7f, 0x06, 0x64, 0x70, 0x02, 0x01],
    dotsPerCharacter: 16,
    dotPicoseconds: COLOUR_DOT_PICOSECONDS,
    connector: 'rgbi_connector',
  },
}

/** What the simulator wrote, and what it must mean. */
export interface CrtcCapture {
  /** VCD with 1 ps ticks; channels HSYNC VSYNC R G B I, or HSYNC VSYNC VIDEO I. */
  vcd: Uint8Array
  dotClockHz: number
  dotsPerScanline: number
  scanlinesPerFrame: number
  activeDots: number
  activeScanlines: number
  hsyncDots: number
  /** From hsync's leading edge to the first active dot. */
  firstActiveDot: number
  /** From the scanline in which vsync's leading edge falls to the first active one. */
  firstActiveScanline: number
  vsyncPolarity: 'positive' | 'negative'
  /** Channels of a code, bit 0 first. */
  channels: readonly string[]
  /** The drawn picture: code of a dot of the active area. */
  codeAt: (x: number, y: number) => number
}

/** Whether Icarus Verilog is installed; tests skip where it is not. */
export function hasVerilogSimulator(): boolean {
  return ['iverilog', 'vvp'].every((program) => spawnSync(program, ['-V']).error === undefined)
}

/** Simulates from the controller's reset (row 0, first character) on for `frames` frames; about a second for each. */
export function simulateCrtc(key: CrtcProgramKey, frames: number): CrtcCapture {
  const program = CRTC_PROGRAMS[key]
  const [r0, r1, r2, r3, r4, r5, r6, r7, , r9] = program.registers as number[]
  const { dotsPerCharacter } = program
  const dotsPerScanline = (r0! + 1) * dotsPerCharacter
  const scanlinesPerRow = r9! + 1
  const scanlinesPerFrame = (r4! + 1) * scanlinesPerRow + r5!
  const mono = program.connector === 'mono_connector'
  const mask = mono ? 0b11 : 0b1111
  return {
    vcd: runSimulator(program, Math.round(frames * dotsPerScanline * scanlinesPerFrame)),
    dotClockHz: 1e12 / program.dotPicoseconds,
    dotsPerScanline,
    scanlinesPerFrame,
    activeDots: r1! * dotsPerCharacter,
    activeScanlines: r6! * scanlinesPerRow,
    hsyncDots: (r3! & 15) * dotsPerCharacter,
    firstActiveDot: (r0! + 1 - r2!) * dotsPerCharacter,
    firstActiveScanline: scanlinesPerFrame - r7! * scanlinesPerRow,
    vsyncPolarity: mono ? 'negative' : 'positive',
    channels: mono ? ['VIDEO', 'I'] : ['R', 'G', 'B', 'I'],
    codeAt: (x, y) => {
      const address = Math.floor(y / scanlinesPerRow) * r1! + Math.floor(x / dotsPerCharacter)
      const raster = y % scanlinesPerRow
      const k = x % dotsPerCharacter
      const glyph = ((address * 57 + raster * 29) ^ (address >> 2)) & 255
      const lit = ((glyph >> (k & 7)) ^ (k >> 3)) & 1
      return (lit ? 1 + (address % 15) : (address >> 3) & 7) & mask
    },
  }
}

function runSimulator(program: CrtcProgram, dots: number): Uint8Array {
  const folder = mkdtempSync(join(tmpdir(), 'rastertap-crtc-'))
  try {
    const compiled = join(folder, 'card.vvp')
    const top = program.connector
    const parameters = program.registers
      .map((value, number) => ({ name: `R${number}`, value }))
      .filter(({ name }) => name !== 'R8')
      .concat(
        { name: 'DOTS_PER_CHARACTER', value: program.dotsPerCharacter },
        { name: 'DOT_PICOSECONDS', value: program.dotPicoseconds },
        { name: 'DOTS', value: dots },
      )
      .map(({ name, value }) => `-P${top}.${name}=${value}`)
    const source = fileURLToPath(new URL('verilog-crtc.v', import.meta.url))
    run('iverilog', ['-g2005', '-o', compiled, '-s', top, ...parameters, source], folder)
    run('vvp', ['-n', compiled, '+vcd=card.vcd'], folder)
    return Uint8Array.from(readFileSync(join(folder, 'card.vcd')))
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

function run(command: string, args: string[], cwd: string): void {
  const { status, stderr, stdout, error } = spawnSync(command, args, { cwd, encoding: 'utf8' })
  if (status !== 0) throw new Error(`${command}: ${error?.message ?? stderr + stdout}`)
}
