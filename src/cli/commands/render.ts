// render CAPTURE -o FILE.png: does it show what I think it shows?

import { dotBlock, enlarge } from '../../picture/aspect-scale.ts'
import { halfBlocks } from '../../picture/half-blocks.ts'
import { encodePng } from '../../picture/png.ts'
import { renderFrame, type RenderedFrame } from '../../render-frame.ts'
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
  frame?: number
  segment?: number
  palette?: string
  fullRaster?: boolean
  aspect?: boolean
  terminal?: boolean
  force?: boolean
  json?: boolean
}

/** @returns exit status */
export async function render(file: string, options: RenderCommandOptions, io: Io): Promise<number> {
  const { output, frame, segment, palette, fullRaster, force = false } = options
  if (output === undefined && !options.terminal) {
    throw new UsageError('there is nowhere to draw to', 'give a file with -o FILE.png, or --terminal')
  }
  if (output !== undefined) await checkOutputFile(output, force, file, io)
  const frames = frame === undefined ? undefined : { first: frame, count: 2 }
  const measurement = await readCapture(file, options, io, { frames })
  const rendered = inFile(file, () => renderFrame(measurement, { frame, segment, palette, fullRaster }))
  if (options.terminal) {
    const columns = io.stdout.columns ?? TERMINAL_COLUMNS
    await print(io, `${halfBlocks(rendered, columns).join('\n')}\n`)
  }
  if (output === undefined) return EXIT.done
  const drawn = options.aspect ? inShape(rendered) : rendered
  await writeWhole(output, encodePng(drawn), force)
  if (options.json) await printJson(io, renderReport(drawn, output))
  else await print(io, renderText(drawn, output, inkFor(io)))
  return EXIT.done
}

/** The same picture in whole blocks of square pixels, as near the monitor's shape as small blocks come. */
function inShape(frame: RenderedFrame): RenderedFrame {
  const block = dotBlock(frame.pixelAspect)
  const rows = { widthDots: frame.widthPixels, heightScanlines: frame.heightPixels, codes: frame.codes }
  const { widthDots, heightScanlines, codes } = enlarge(rows, block)
  const pixelAspect = (frame.pixelAspect * block.down) / block.across
  return { ...frame, widthPixels: widthDots, heightPixels: heightScanlines, codes, pixelAspect }
}
