// render CAPTURE -o FILE.png: does it show what I think it shows?

import { CaptureError } from '../../errors.ts'
import { dotBlock, enlarge } from '../../picture/aspect-scale.ts'
import { contactSheet } from '../../picture/contact-sheet.ts'
import { halfBlocks } from '../../picture/half-blocks.ts'
import { MAX_MERGED_FRAMES } from '../../dots/merged-frames.ts'
import { encodePng } from '../../picture/png.ts'
import { differenceOf, renderFrame, renderFrames, type RenderedFrame } from '../../render-frame.ts'
import { renderReport, renderText } from '../../report/render-report.ts'
import { inFile } from '../in-file.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { inkFor } from '../ink-for.ts'
import { checkOutputFile, writeWhole } from '../output-file.ts'
import { print, printJson } from '../print.ts'
import { readCapture } from '../read-capture.ts'
import { UsageError } from '../usage-error.ts'

/** Where the output is no terminal that says how wide it is. */
const TERMINAL_COLUMNS = 80

/** Options of `render` beside those of the capture. */
export interface RenderCommandOptions extends CaptureOptions {
  output?: string
  frame?: number | 'all'
  /** True: as many as there are. */
  merge?: number | true
  sheet?: boolean
  difference?: readonly [number, number]
  segment?: number
  palette?: string
  fullRaster?: boolean
  aspect?: boolean
  terminal?: boolean
  force?: boolean
  json?: boolean
}

/** Frames kept for `--frame all` and `--difference`. */
export const MAX_FRAMES = 64
/** Code of the gaps in a contact sheet, and of dots that do not differ: the palette's first colour, black. */
const BLANK = 0

/** @returns exit status */
export async function render(file: string, options: RenderCommandOptions, io: Io): Promise<number> {
  const { output, terminal, force = false } = options
  if (output === undefined && !terminal) {
    throw new UsageError('there is nowhere to draw to', 'give a file with -o FILE.png, or --terminal')
  }
  if (options.difference || options.frame === 'all') {
    if (options.merge !== undefined) {
      throw new UsageError('--merge makes one picture of several frames', 'use it with one --frame or none')
    }
    return renderSeveral(file, options, io)
  }
  const { frame } = options
  if (output !== undefined) await checkOutputFile(output, force, file, io)
  const rendered =
    options.merge === undefined
      ? await renderOne(file, options, frame, io)
      : await renderSeveralAsOne(file, options, frame ?? 0, io)
  if (terminal) {
    const columns = io.stdout.columns ?? TERMINAL_COLUMNS
    await print(io, `${halfBlocks(rendered, columns).join('\n')}\n`)
  }
  if (output !== undefined) await write(rendered, output, options, io)
  return EXIT.done
}

async function renderOne(
  file: string,
  options: RenderCommandOptions,
  frame: number | undefined,
  io: Io,
): Promise<RenderedFrame> {
  const { segment, palette, fullRaster } = options
  const frames = frame === undefined ? undefined : { first: frame, count: 2 }
  const measurement = await readCapture(file, options, io, { frames })
  return inFile(file, () => renderFrame(measurement, { frame, segment, palette, fullRaster }))
}

/** `--merge`, from a frame on. */
async function renderSeveralAsOne(
  file: string,
  options: RenderCommandOptions,
  first: number,
  io: Io,
): Promise<RenderedFrame> {
  const { merge, segment, palette, fullRaster } = options
  const most = typeof merge === 'number' ? merge : MAX_MERGED_FRAMES
  // of an interlaced picture, each frame is two fields
  const kept = { frames: { first, count: 2 * most }, keepSignal: true }
  const measurement = await readCapture(file, options, io, kept)
  // few pictures are merged: nobody else waits for that code
  const { renderMerged } = await import('../../render-merged.ts')
  return inFile(file, () => renderMerged(measurement, { frames: most, segment, palette, fullRaster }))
}

async function write(
  frame: RenderedFrame,
  output: string,
  options: RenderCommandOptions,
  io: Io,
): Promise<void> {
  const drawn = options.aspect ? inShape(frame) : frame
  await writeWhole(output, encodePng(drawn), options.force ?? false)
  if (options.json) await printJson(io, renderReport(drawn, output))
  else await print(io, renderText(drawn, output, inkFor(io)))
}

/** Numbered files, one sheet, or the difference of two frames. */
async function renderSeveral(file: string, options: RenderCommandOptions, io: Io): Promise<number> {
  const { output, segment, palette, fullRaster, sheet, difference, force = false } = options
  if (output === undefined || options.terminal) {
    throw new UsageError(
      'several frames are drawn into files',
      'give a file with -o FILE.png, without --terminal',
    )
  }
  if (options.json && !sheet && !difference) {
    throw new UsageError('--json describes one picture', 'use it with --sheet or one --frame')
  }
  await checkOutputFile(output, force, file, io)
  const kept = { frames: { first: 0, count: MAX_FRAMES }, keepSignal: true }
  const measurement = await readCapture(file, options, io, kept)
  const frames = inFile(file, () => renderFrames(measurement, { segment, palette, fullRaster }))
  const { wholeFrames } = segment === undefined ? measurement.main : measurement.segments[segment]!
  if (wholeFrames > MAX_FRAMES && !options.json) {
    await print(io, `the first ${MAX_FRAMES} of ${wholeFrames} whole frames are drawn\n`)
  }
  if (difference) {
    const [a, b] = difference.map((wanted) => frameNumbered(frames, wanted, file)) as [
      RenderedFrame,
      RenderedFrame,
    ]
    const codes = differenceOf(a, b)
    const differing = codes.reduce((sum, code) => sum + code, 0)
    await write({ ...a, codes, palette: DIFFERENCE_PALETTE }, output, options, io)
    if (!options.json) await print(io, `frames ${difference.join(' and ')} differ in ${differing} dots\n`)
    return EXIT.done
  }
  if (sheet) {
    const rows = frames.map(({ widthPixels, heightPixels, codes }) => ({
      widthDots: widthPixels,
      heightScanlines: heightPixels,
      codes,
    }))
    const { widthDots, heightScanlines, codes } = contactSheet(rows, BLANK)
    await write(
      { ...frames[0]!, widthPixels: widthDots, heightPixels: heightScanlines, codes },
      output,
      options,
      io,
    )
    return EXIT.done
  }
  const names = frames.map((frame) => numbered(output, frame.frame ?? 0))
  for (const name of names) await checkOutputFile(name, force, file, io)
  for (const [index, frame] of frames.entries()) await write(frame, names[index]!, options, io)
  return EXIT.done
}

/** Black where two frames agree, amber where they differ. */
const DIFFERENCE_PALETTE = { name: 'difference', entries: Uint8Array.of(0, 0, 0, 255, 176, 0), note: null }

function frameNumbered(frames: readonly RenderedFrame[], wanted: number, file: string): RenderedFrame {
  const found = frames.find(({ frame }) => frame === wanted)
  if (found) return found
  const known = frames.map(({ frame }) => frame).join(', ')
  throw new CaptureError(
    'FRAME_NOT_FOUND',
    `there is no whole frame ${wanted} among the first ${MAX_FRAMES}`,
    { file },
    { hint: `whole frames are ${known}` },
  )
}

/** `frame.png` → `frame-3.png` */
function numbered(output: string, frame: number): string {
  const dot = output.lastIndexOf('.')
  return dot > output.lastIndexOf('/') + 1
    ? `${output.slice(0, dot)}-${frame}${output.slice(dot)}`
    : `${output}-${frame}`
}

/** The same picture in whole blocks of square pixels, as near the monitor's shape as small blocks come. */
function inShape(frame: RenderedFrame): RenderedFrame {
  const block = dotBlock(frame.pixelAspect)
  const rows = { widthDots: frame.widthPixels, heightScanlines: frame.heightPixels, codes: frame.codes }
  const { widthDots, heightScanlines, codes } = enlarge(rows, block)
  const pixelAspect = (frame.pixelAspect * block.down) / block.across
  return { ...frame, widthPixels: widthDots, heightPixels: heightScanlines, codes, pixelAspect }
}
