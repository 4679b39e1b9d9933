// preview CAPTURE -o FILE.png --clock HZ: what would my adapter show?

import type { AdapterDescription } from '../../adapter/adapter-description.ts'
import { findPlans, planForClock } from '../../adapter/plan-search.ts'
import { maskPictures, previewPictures } from '../../adapter/preview-pictures.ts'
import { previewFrames } from '../../adapter/preview.ts'
import type { SamplingPlan } from '../../adapter/sampling-plan.ts'
import { measuredSignal } from '../../adapter/segment-signal.ts'
import { encodeAnimatedPng } from '../../picture/apng.ts'
import { encodePng, type PngPicture } from '../../picture/png.ts'
import { renderFrame } from '../../render-frame.ts'
import { previewReport, type PreviewAnswer } from '../../report/preview-report.ts'
import { previewText } from '../../report/preview-text.ts'
import { inFile } from '../in-file.ts'
import { inkFor } from '../ink-for.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { checkOutputFile, writeWhole } from '../output-file.ts'
import { print, printJson } from '../print.ts'
import { readAdapter } from '../read-adapter.ts'
import { readCapture } from '../read-capture.ts'
import { UsageError } from '../usage-error.ts'

/** Options of `preview` beside those of the capture. */
export interface PreviewCommandOptions extends CaptureOptions {
  output: string
  clock?: number
  clocksPerDot?: number
  count?: 'edges' | 'filtered'
  frames?: number
  animate?: boolean
  mask?: string
  adapter?: string
  force?: boolean
  json?: boolean
}

/** Slow enough for the eye to see a jump. */
const SECONDS_PER_FRAME = 0.25
/** Frames of an animation where none are asked for. */
const USUAL_ANIMATED_FRAMES = 8

/** @returns exit status */
export async function preview(file: string, options: PreviewCommandOptions, io: Io): Promise<number> {
  const { animate = false, force = false, mask } = options
  const frames = options.frames ?? (animate ? USUAL_ANIMATED_FRAMES : 1)
  const numbered = options.frames !== undefined && !animate
  const names = namesOf(options.output, numbered ? frames : 1, numbered)
  const masks = mask === undefined ? [] : namesOf(mask, numbered ? frames : 1, numbered)
  if (new Set([...names, ...masks]).size < names.length + masks.length)
    throw new UsageError('picture and mask would be one file', 'give --mask another name')
  for (const name of [...names, ...masks]) await checkOutputFile(name, force, file, io)
  const adapter = await readAdapter(options.adapter)
  if (options.clock === undefined && adapter.clockHz === undefined && adapter.pll === undefined)
    throw new UsageError(
      'a sampling clock is wanted: --clock HZ, or --adapter with one',
      '`rastertap sampling` finds good ones',
    )
  const measurement = await readCapture(file, options, io, {
    frames: { first: 0, count: frames },
    keepSignal: true,
  })
  const made = inFile(file, () => {
    const plan = planOf(measuredSignal(measurement.main).signal, options, adapter)
    const shown = previewFrames(measurement.main, {
      clockHz: plan.sampleClockHz,
      clocksPerDot: plan.clocksPerDot,
      phaseDots: plan.phaseDots,
      setupSeconds: adapter.setupSeconds,
      count: options.count ?? adapter.sync?.count ?? 'filtered',
      filterSeconds: adapter.sync?.filterSeconds,
      holdOffSeconds: adapter.sync?.holdOffSeconds,
      frames,
    })
    return { plan, shown, rendered: renderFrame(measurement) }
  })
  const { plan, shown, rendered } = made
  // a frame of an interlaced mode is a field here: its rows are twice as high
  const aspect = measurement.main.raster.interlaced ? rendered.pixelAspect / 2 : rendered.pixelAspect
  const pictures = previewPictures(shown, rendered.palette, aspect)
  const answer: PreviewAnswer = {
    file,
    plan,
    preview: shown,
    count: options.count ?? adapter.sync?.count ?? 'filtered',
    framesAsked: options.frames ?? shown.frames.length,
    files: await writePictures(names, pictures, animate, force),
    maskFiles: await writePictures(masks, maskPictures(shown, aspect), animate, force),
    animated: animate,
    standard: rendered.standard,
    palette: rendered.palette.name,
  }
  if (options.json) await printJson(io, previewReport(answer))
  else await print(io, previewText(answer, inkFor(io)))
  return EXIT.done
}

function planOf(
  signal: Parameters<typeof findPlans>[0],
  { clock, clocksPerDot }: PreviewCommandOptions,
  adapter: AdapterDescription,
): SamplingPlan {
  const fixed = clocksPerDot === undefined ? adapter : { ...adapter, clocksPerDot }
  const clockHz = clock ?? adapter.clockHz
  if (clockHz !== undefined) return planForClock(signal, clockHz, fixed)
  try {
    const [best] = findPlans(signal, fixed, { count: 1 }).plans
    if (best) return best
  } catch (error) {
    if (!(error instanceof RangeError)) throw error
    throw new UsageError(error.message, 'narrow the ranges in the description')
  }
  throw new UsageError('the clock described cannot reach one clock per dot', 'give one with --clock')
}

/** `seen.png` → `seen-0.png`, `seen-1.png` where the frames are numbered. */
function namesOf(name: string, frames: number, numbered: boolean): string[] {
  if (!numbered) return [name]
  const dot = /\.[^./\\]*$/.exec(name)?.index ?? name.length
  return Array.from({ length: frames }, (_, n) => `${name.slice(0, dot)}-${n}${name.slice(dot)}`)
}

/** @returns names of what was written: fewer than `names` where the capture holds fewer frames */
async function writePictures(
  names: readonly string[],
  pictures: readonly PngPicture[],
  animate: boolean,
  force: boolean,
): Promise<string[]> {
  const written: string[] = []
  for (const [n, name] of names.entries()) {
    const picture = pictures[n]
    if (!picture) break
    const bytes = animate
      ? encodeAnimatedPng(pictures, { frameSeconds: SECONDS_PER_FRAME })
      : encodePng(picture)
    await writeWhole(name, bytes, force)
    written.push(name)
  }
  return written
}
