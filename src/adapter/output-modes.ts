// What a card sends -> every mode of the catalogue that an adapter could send on to a VGA monitor: how often each
// scanline is shown, borders, memory, and what the difference of the frame rates looks like.

import { fieldRateHz, scanlineRateHz, type Mark, type Standard } from '../classify/standard.ts'
import type { Polarity } from '../measurement.ts'
import type { AdapterDescription } from './adapter-description.ts'
import { monitorsFor } from './monitor-kinds.ts'
import { OutputClocks, type OutputClock } from './output-clock.ts'

/** What the card sends. */
export interface InputMode {
  hsyncHz: number
  vsyncHz: number
  dotsPerScanline: number
  scanlinesPerFrame: number
  activeDots: number
  activeScanlines: number
  dotClockHz: number
}

/** What holds the picture, bytes. Packed: a scanline's bits without gaps, each scanline from a new byte. */
export interface BufferSizes {
  scanlineBytes: number
  framePackedBytes: number
  frameBytePerDotBytes: number
}

/** Black around the picture. An odd rest goes right and below. */
export interface Borders {
  leftDots: number
  rightDots: number
  topScanlines: number
  bottomScanlines: number
}

/** One way to show the picture. */
export interface OutputChoice {
  id: string
  name: string
  /** Times each scanline of the card is shown. */
  scanlineRepeat: 1 | 2 | 3
  /** Output dots for each dot of the card. */
  dotRepeat: number
  borders: Borders
  hsyncHz: number
  vsyncHz: number
  hsyncPolarity: Polarity | null
  vsyncPolarity: Polarity | null
  /** What this choice needs: a frame at the bits per dot asked for, or `lineBufferScanlines` of them. */
  bufferBytes: number
  buffers: BufferSizes
  /** Into the RAM stated; true where none is stated. */
  fits: boolean
  /** How far the frame rates are apart: 0 when the output follows the card. */
  frameRateBeatHz: number
  /** Time between two frames shown twice, left out, or torn; null when the output follows the card. */
  beatSeconds: number | null
  /**
   * Output scanlines come at a whole multiple of the card's and frames at the card's own rate, all within the
   * tolerance of the mode: two scanlines of buffer do.
   */
  lineBufferOnly: boolean
  dotClockHz: number
  /** null: no clock described. */
  clock: OutputClock | null
  /** Kinds that lock to these rates; empty: none known. */
  monitors: string[]
  mark: Mark
  notes: string[]
}

/** What the adapter has. */
export interface OutputNeeds {
  ramBytes?: number
  /** Default 8: one byte a dot. */
  bitsPerDot?: number
  adapter?: AdapterDescription
}

/** One scanline is written while the one before is read. */
const LINE_BUFFER_SCANLINES = 2

const REPEATS = [1, 2, 3] as const

/** Catalogue rows a VGA monitor is sent: analog, and progressive, since nothing here weaves fields on the way out. */
export function isOutputMode(row: Standard): boolean {
  return row.colour === 'analog' && !row.interlaced && row.sameTimingAs === undefined
}

/**
 * Every choice, best first: what needs only a line buffer, then what fits into memory, then what the described clock
 * makes; among these the smaller share of border.
 */
export function outputChoices(
  input: InputMode,
  catalogue: readonly Standard[],
  needs: OutputNeeds = {},
): OutputChoice[] {
  const clocks = new OutputClocks(needs.adapter ?? {})
  const choices = catalogue
    .filter(isOutputMode)
    .filter((row) => row.activeDots >= input.activeDots)
    .flatMap((row) =>
      REPEATS.filter((repeat) => repeat * input.activeScanlines <= row.activeScanlines).map((repeat) => ({
        choice: choiceOf(input, row, repeat, needs, clocks),
        shown: shownShare(input, row, repeat),
      })),
    )
  const rank = ({ lineBufferOnly, fits, clock, monitors }: OutputChoice): number =>
    (fits ? 0 : 8) +
    (monitors.length > 0 ? 0 : 4) +
    (clock?.withinTolerance === false ? 2 : 0) +
    (lineBufferOnly ? 0 : 1)
  return choices
    .sort((a, b) => rank(a.choice) - rank(b.choice) || b.shown - a.shown)
    .map(({ choice }) => choice)
}

/** Bytes for a picture. */
export function bufferSizes(
  { activeDots, activeScanlines }: Pick<InputMode, 'activeDots' | 'activeScanlines'>,
  bitsPerDot: number,
): BufferSizes {
  const scanlineBytes = Math.ceil((activeDots * bitsPerDot) / 8)
  return {
    scanlineBytes,
    framePackedBytes: scanlineBytes * activeScanlines,
    frameBytePerDotBytes: activeDots * activeScanlines * Math.ceil(bitsPerDot / 8),
  }
}

/** Whether the output can follow the card: scanline rate times `repeat`, and frame rate, within the mode's tolerance. */
function locks(input: InputMode, row: Standard, repeat: number): boolean {
  const off = (made: number, published: number): number => Math.abs(made / published - 1)
  return (
    off(input.hsyncHz * repeat, scanlineRateHz(row)) <= row.rateTolerance &&
    off(input.vsyncHz, fieldRateHz(row)) <= row.rateTolerance
  )
}

function choiceOf(
  input: InputMode,
  row: Standard,
  repeat: 1 | 2 | 3,
  needs: OutputNeeds,
  clocks: OutputClocks,
): OutputChoice {
  const bitsPerDot = needs.bitsPerDot ?? 8
  const lineBufferOnly = locks(input, row, repeat)
  const buffers = bufferSizes(input, bitsPerDot)
  const bufferBytes = lineBufferOnly
    ? LINE_BUFFER_SCANLINES * buffers.scanlineBytes
    : buffers.framePackedBytes
  const wantedHz = lineBufferOnly ? input.hsyncHz * repeat * row.dotsPerScanline : row.dotClockHz
  const clock = clocks.nearest(wantedHz, row.rateTolerance) ?? null
  // the adapter's own clock decides what comes out, unless the output is kept in step with the card
  const dotClockHz = lineBufferOnly ? wantedHz : (clock?.madeHz ?? wantedHz)
  const hsyncHz = dotClockHz / row.dotsPerScanline
  const vsyncHz = lineBufferOnly ? input.vsyncHz : hsyncHz / row.scanlinesPerFrame
  const frameRateBeatHz = lineBufferOnly ? 0 : Math.abs(vsyncHz - input.vsyncHz)
  const choice: OutputChoice = {
    id: row.id,
    name: row.name,
    scanlineRepeat: repeat,
    dotRepeat: Math.floor(row.activeDots / input.activeDots),
    borders: bordersOf(input, row, repeat),
    hsyncHz,
    vsyncHz,
    hsyncPolarity: row.hsyncPolarity,
    vsyncPolarity: row.vsyncPolarity,
    bufferBytes,
    buffers,
    fits: needs.ramBytes === undefined || bufferBytes <= needs.ramBytes,
    frameRateBeatHz,
    beatSeconds: frameRateBeatHz > 0 ? 1 / frameRateBeatHz : null,
    lineBufferOnly,
    dotClockHz,
    clock,
    monitors: monitorsFor(hsyncHz, vsyncHz),
    mark: row.mark,
    notes: [],
  }
  choice.notes.push(...notesOf(choice, input, row, needs))
  return choice
}

function bordersOf(input: InputMode, row: Standard, repeat: number): Borders {
  const dots = row.activeDots - input.activeDots * Math.floor(row.activeDots / input.activeDots)
  const scanlines = row.activeScanlines - input.activeScanlines * repeat
  return {
    leftDots: Math.floor(dots / 2),
    rightDots: Math.ceil(dots / 2),
    topScanlines: Math.floor(scanlines / 2),
    bottomScanlines: Math.ceil(scanlines / 2),
  }
}

/** Share of the output's area that the picture fills. */
function shownShare(input: InputMode, row: Standard, repeat: number): number {
  const { leftDots, rightDots } = bordersOf(input, row, repeat)
  return (
    ((row.activeDots - leftDots - rightDots) / row.activeDots) *
    ((input.activeScanlines * repeat) / row.activeScanlines)
  )
}

function notesOf(choice: OutputChoice, input: InputMode, row: Standard, { ramBytes }: OutputNeeds): string[] {
  const notes: string[] = []
  const { lineBufferOnly, scanlineRepeat, beatSeconds, bufferBytes, buffers, fits, clock, monitors } = choice
  if (lineBufferOnly) {
    const scanlines = input.scanlinesPerFrame * scanlineRepeat
    notes.push(
      `the output follows the card: ${scanlineRepeat} x ${(input.hsyncHz / 1e3).toFixed(3)} kHz, ` +
        `${LINE_BUFFER_SCANLINES} scanlines of buffer` +
        (scanlines === row.scanlinesPerFrame
          ? ''
          : `; ${scanlines} scanlines a frame where the mode has ${row.scanlinesPerFrame}`),
    )
  } else if (beatSeconds !== null) {
    const what = choice.vsyncHz > input.vsyncHz ? 'shown twice' : 'left out'
    notes.push(
      `a frame is ${what} every ${duration(beatSeconds)}; with a single frame of buffer it is a tear that passes ` +
        `through the picture in that time, and no tear takes ${2 * bufferBytes} bytes (two frames)`,
    )
  }
  if (!fits) notes.push(`needs ${bufferBytes} bytes, the adapter has ${ramBytes}`)
  if (fits && !lineBufferOnly && ramBytes !== undefined && buffers.frameBytePerDotBytes > ramBytes)
    notes.push(`fits packed only: a byte for each dot would need ${buffers.frameBytePerDotBytes}`)
  if (clock !== null && !clock.withinTolerance)
    notes.push(
      `the described clock comes no nearer than ${clock.errorPpm.toFixed(0)} ppm ` +
        `(tolerance ${(row.rateTolerance * 1e6).toFixed(0)})`,
    )
  if (monitors.length === 0) notes.push('no kind of monitor known here locks to these rates')
  if (row.activeScanlines > input.activeScanlines * scanlineRepeat || row.activeDots % input.activeDots !== 0)
    notes.push('the borders are black scanlines and dots that the adapter must send')
  return notes
}

function duration(seconds: number): string {
  return seconds >= 1 ? `${seconds.toFixed(1)} s` : `${(seconds * 1e3).toFixed(0)} ms`
}
