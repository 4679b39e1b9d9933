// render CAPTURE -o FILE.png: does it show what I think it shows?

import { encodePng } from '../../picture/png.ts'
import { renderFrame } from '../../render-frame.ts'
import { renderReport, renderText } from '../../report/render-report.ts'
import { inFile } from '../in-file.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { inkFor } from '../ink-for.ts'
import { checkOutputFile, writeWhole } from '../output-file.ts'
import { print, printJson } from '../print.ts'
import { readCapture } from '../read-capture.ts'

/** Options of `render` beside those of the capture. */
export interface RenderCommandOptions extends CaptureOptions {
  output: string
  frame?: number
  segment?: number
  palette?: string
  fullRaster?: boolean
  force?: boolean
  json?: boolean
}

/** @returns exit status */
export async function render(file: string, options: RenderCommandOptions, io: Io): Promise<number> {
  const { output, frame, segment, palette, fullRaster, force = false } = options
  await checkOutputFile(output, force, file, io)
  const frames = frame === undefined ? undefined : { first: frame, count: 2 }
  const measurement = await readCapture(file, options, io, { frames })
  const rendered = inFile(file, () => renderFrame(measurement, { frame, segment, palette, fullRaster }))
  await writeWhole(output, encodePng(rendered), force)
  if (options.json) await printJson(io, renderReport(rendered, output))
  else await print(io, renderText(rendered, output, inkFor(io)))
  return EXIT.done
}
