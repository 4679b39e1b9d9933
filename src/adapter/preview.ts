// A captured segment and an adapter's clock and sync input -> what the monitor behind the adapter would show.
//
// The adapter is simulated as in sampling-plan.ts: each caught hsync edge starts a scanline and its samples, each caught
// vsync edge starts the count of scanlines. Dots and regular hsync edges stand where the fit through all of them puts
// them, so that the instrument's own sample grid does not show; false pulses stand where they were captured.

import { sampleDots, MAX_DOTS_IN_FRAME } from '../dots/sample-dots.ts'
import type { ScanlineGrid } from '../dots/scanline-grid.ts'
import { HSYNC_BIT, VSYNC_BIT, type SyncEdges } from '../dots/sync-recorder.ts'
import { SignalError } from '../errors.ts'
import type { SegmentMeasurement, SegmentPicture, SegmentSignal } from '../measure-segment.ts'
import { catchEdges, pulsesOf, type CatchRule, type SyncPulse } from './caught-sync.ts'
import { firstBoundary } from './segment-signal.ts'
import { USUAL_SETUP_SECONDS } from './sampling-plan.ts'

/** The adapter that is simulated. */
export interface PreviewRequest {
  clockHz: number
  clocksPerDot: number
  /** Where in the dot samples aim, dots from its middle; a plan's `phaseDots`. */
  phaseDots: number
  setupSeconds?: number | undefined
  count: 'edges' | 'filtered'
  /** Default: an eighth of the measured hsync. */
  filterSeconds?: number | undefined
  /** Default: three quarters of the measured scanline. */
  holdOffSeconds?: number | undefined
  /** Frames wanted. */
  frames: number
}

/** One frame as the monitor shows it. */
export interface PreviewFrame {
  /** Index in its segment. */
  frame: number
  /** Codes row by row, `widthDots` times `heightScanlines`. */
  codes: Uint16Array
  /** The card's true picture, likewise. */
  truth: Uint16Array
  differentDots: number
  /** Scanlines the card sent from this vsync to the next, and those the adapter counted; null for a cut frame. */
  sentScanlines: number | null
  countedScanlines: number
  /** By how many rows the last row of the picture lies too low; null where its sync was not caught. */
  lowByRows: number | null
}

export interface Preview {
  widthDots: number
  heightScanlines: number
  frames: PreviewFrame[]
  /** How often each column differs from the truth, over all frames. */
  differencesByColumn: Uint32Array
  /** The filter that was simulated; 0 and 0 where every edge counts. */
  filterSeconds: number
  holdOffSeconds: number
}

/** Defaults of a filter: from common practice, well inside what a clean card allows. */
const FILTER_SHARE_OF_HSYNC = 1 / 8
const HOLD_OFF_SHARE_OF_SCANLINE = 3 / 4

/** How near vsync may be to an hsync edge and still fall into the scanline that it begins, in scanlines. */
const COINCIDENT_SCANLINES = 0.02
/** An edge this near to its scanline's start is the scanline's own, in samples. */
const OWN_EDGE_SAMPLES = 1.5

/** Takes place of a vsync channel where the capture has none of its own: composite sync. */
interface VsyncEdge {
  leadTick: number
}

/**
 * Simulates an adapter on a segment that was measured with `keepSignal`.
 *
 * @throws {SignalError} VIDEO_NOT_FOUND without a picture; FRAME_NOT_FOUND without a frame that has a vsync before it
 */
export function previewFrames(segment: SegmentMeasurement, request: PreviewRequest): Preview {
  const { picture, signal } = segment
  const coloured = picture?.planes.some((role) => role !== 'display-enable')
  if (!picture || !coloured || !signal?.source.recording.sync)
    throw new SignalError(
      'VIDEO_NOT_FOUND',
      'no picture in this capture: there is nothing an adapter could sample',
      {},
      { hint: 'probe the colour pins too, or name the channels with --map red=NAME,green=NAME,…' },
    )
  const stage = new Stage(segment, picture, signal, signal.source.recording.sync)
  const { periodTicks } = signal.source.grid
  const filtered = request.count === 'filtered'
  const hsyncTicks = segment.hsync.widthSeconds.value / signal.secondsPerTick
  const ticks = (seconds: number | undefined, usual: number): number =>
    !filtered ? 0 : seconds === undefined ? usual : seconds / signal.secondsPerTick
  const rule: CatchRule = {
    count: request.count,
    filterTicks: ticks(request.filterSeconds, hsyncTicks * FILTER_SHARE_OF_HSYNC),
    holdOffTicks: ticks(request.holdOffSeconds, periodTicks * HOLD_OFF_SHARE_OF_SCANLINE),
    clockTicks: 1 / (request.clockHz * signal.secondsPerTick),
  }
  const frames = stage.run(rule, request)
  const { widthDots, heightScanlines } = stage
  return {
    widthDots,
    heightScanlines,
    frames,
    differencesByColumn: differencesByColumn(frames, widthDots),
    filterSeconds: rule.filterTicks * signal.secondsPerTick,
    holdOffSeconds: rule.holdOffTicks * signal.secondsPerTick,
  }
}

/** What of the adapter's picture differs from the truth, one byte a dot: 1 where it does. */
export function differenceMask({ codes, truth }: PreviewFrame): Uint16Array {
  return codes.map((code, dot) => (code === truth[dot] ? 0 : 1))
}

function differencesByColumn(frames: readonly PreviewFrame[], widthDots: number): Uint32Array {
  const counts = new Uint32Array(widthDots)
  for (const frame of frames) {
    const mask = differenceMask(frame)
    for (let dot = 0; dot < mask.length; dot++) counts[dot % widthDots]! += mask[dot]!
  }
  return counts
}

/** The card's side of the connector, ready to be sampled at any time. */
class Stage {
  readonly widthDots: number
  readonly heightScanlines: number
  readonly #segment: SegmentMeasurement
  readonly #picture: SegmentPicture
  readonly #signal: SegmentSignal
  readonly #sync: SyncEdges
  readonly #grid: ScanlineGrid
  readonly #dots: number
  /** Scanlines kept: those of the recording, as far as there is room for their dots. */
  readonly #lines: number
  readonly #mask: number
  /** Codes of every dot of every scanline kept. */
  readonly #codes: Uint16Array
  /** Start of dot 0 after the scanline's start, in dots. */
  readonly #boundary: number
  /** State of a linear congruential generator: an unsure sample falls either way, but the same way each time. */
  #chance = 1

  constructor(segment: SegmentMeasurement, picture: SegmentPicture, signal: SegmentSignal, sync: SyncEdges) {
    this.#segment = segment
    this.#picture = picture
    this.#signal = signal
    this.#sync = sync
    const { recording, grid, planeCount, sampleIntervalTicks } = signal.source
    this.#grid = grid
    this.#dots = picture.raster.dotsPerScanline
    this.#boundary = firstBoundary(picture.raster.phase.commonDots)
    this.#mask = (1 << picture.planes.filter((role) => role !== 'display-enable').length) - 1
    this.#lines = Math.min(grid.start.length - 1, Math.floor(MAX_DOTS_IN_FRAME / this.#dots))
    this.#codes = sampleDots(
      recording,
      grid,
      this.#dots,
      picture.raster.phase,
      planeCount,
      grid.firstNumber,
      this.#lines,
      sampleIntervalTicks,
    ).codes
    const { area } = picture
    this.widthDots = area.right - area.left
    this.heightScanlines = area.bottom - area.top
  }

  run(rule: CatchRule, request: PreviewRequest): PreviewFrame[] {
    const frames = this.#wholeFrames(request.frames)
    const { pulses, lines } = this.#hsyncPulses()
    const edges = catchEdges(pulses, rule)
    const vsyncs = this.#vsyncEdges(rule)
    const { area } = this.#picture
    const coincident = COINCIDENT_SCANLINES * this.#grid.periodTicks
    /** The adapter's memory: what a scanline does not overwrite stays from the frame before. */
    const shown = new Uint16Array(this.widthDots * this.heightScanlines)
    const found: PreviewFrame[] = []
    let nextVsync = 0
    /** Scanlines counted since vsync; NaN before the first. */
    let count = NaN
    let counted = 0
    let lowByRows: number | null = null
    for (let i = 0; i <= edges.length && found.length < frames.length; i++) {
      const edge = edges[i]
      const lead = edge ? pulses[edge.pulse]!.leadTick : Infinity
      // what was counted since the card's vsync, before this edge belongs to the frame after
      while (found.length < frames.length && lead >= frames[found.length]!.endTick - coincident) {
        found.push(this.#frameOf(frames[found.length]!, shown, counted, lowByRows))
        counted = 0
        lowByRows = null
      }
      if (!edge) break
      const { leadTick } = vsyncs[nextVsync] ?? { leadTick: Infinity }
      if (leadTick <= lead + coincident) {
        // the scanline in which vsync begins is number 0
        count = leadTick > lead - coincident ? 0 : 1
        while ((vsyncs[nextVsync]?.leadTick ?? Infinity) <= lead + coincident) nextVsync++
      } else count++
      const frame = frames[found.length]
      if (frame && lead >= frame.startTick - coincident) counted++
      const row = count - area.top
      if (frame && lines[edge.pulse] === frame.firstLine + area.bottom - 1)
        lowByRows = row - (this.heightScanlines - 1)
      if (!(row >= 0 && row < this.heightScanlines)) continue
      const until = edges[i + 1]?.tick ?? Infinity
      this.#sampleRow(shown, row * this.widthDots, edge.tick, until, rule.clockTicks, request)
    }
    return found
  }

  /** Reads the active dots of one scanline, until the next caught edge starts another. */
  #sampleRow(
    shown: Uint16Array,
    at: number,
    caughtTick: number,
    untilTick: number,
    clockTicks: number,
    { clocksPerDot, phaseDots, setupSeconds }: PreviewRequest,
  ): void {
    const lead = this.#picture.area.left + this.#boundary + 0.5 + phaseDots
    const unsureTicks = (setupSeconds ?? USUAL_SETUP_SECONDS) / this.#signal.secondsPerTick
    const whole = Number.isInteger(clocksPerDot)
    for (let dot = 0; dot < this.widthDots; dot++) {
      const clocks = (lead + dot) * clocksPerDot
      // a fractional divider samples on the clock that follows; a whole one starts as its builder set the delay
      const tick = caughtTick + (whole ? clocks : Math.ceil(clocks)) * clockTicks
      if (tick >= untilTick) return
      shown[at + dot] = this.#read(tick, unsureTicks)
    }
  }

  /** Code on the wires at a time; each wire that changes within the unsure time has its old or its new level. */
  #read(tick: number, unsureTicks: number): number {
    const { start, periodTicks } = this.#grid
    const lines = this.#lines
    const dotTicks = periodTicks / this.#dots
    const at = tick - this.#boundary * dotTicks
    let line = Math.min(Math.max(Math.floor((at - start[0]!) / periodTicks), 0), lines - 1)
    while (line > 0 && start[line]! > at) line--
    while (line < lines - 1 && start[line + 1]! <= at) line++
    const place = ((at - start[line]!) / (start[line + 1]! - start[line]!)) * this.#dots
    const dot = Math.floor(place)
    const code = this.#codeAt(line, dot)
    const unsure = unsureTicks / dotTicks
    const other =
      place - dot < unsure
        ? this.#codeAt(line, dot - 1)
        : place - dot > 1 - unsure
          ? this.#codeAt(line, dot + 1)
          : code
    if (other === code) return code
    const choice = this.#random16()
    return (code & ~choice) | (other & choice)
  }

  #codeAt(line: number, dot: number): number {
    // dots of the scanlines around stand next to each other; outside the capture nothing is lit
    return (this.#codes[line * this.#dots + dot] ?? 0) & this.#mask
  }

  /** Numerical Recipes (Press et al., 2nd edition, 7.1), its high half. */
  #random16(): number {
    this.#chance = (Math.imul(this.#chance, 1_664_525) + 1_013_904_223) >>> 0
    return this.#chance >>> 16
  }

  #frameOf(frame: KeptFrame, shown: Uint16Array, counted: number, lowByRows: number | null): PreviewFrame {
    const { area } = this.#picture
    const truth = new Uint16Array(shown.length)
    for (let row = 0; row < this.heightScanlines; row++)
      for (let dot = 0; dot < this.widthDots; dot++)
        truth[row * this.widthDots + dot] = this.#codeAt(frame.firstLine + area.top + row, area.left + dot)
    const codes = shown.slice()
    return {
      frame: frame.index,
      codes,
      truth,
      differentDots: codes.reduce((sum, code, dot) => sum + (code === truth[dot] ? 0 : 1), 0),
      sentScanlines: frame.scanlines,
      countedScanlines: counted,
      lowByRows,
    }
  }

  /** Frames kept with their vsync and all rows of their picture. */
  #wholeFrames(wanted: number): KeptFrame[] {
    const { recording, grid } = this.#signal.source
    const list: KeptFrame[] = []
    // where there was no room for all dots, those of the last frames are missing
    const keptUntil = recording.overflowed ? (recording.tick[recording.rows - 1] ?? 0) : Infinity
    for (const [n, frame] of recording.frames.entries()) {
      const firstLine = frame.firstScanline - grid.firstNumber
      if (firstLine < 0 || firstLine + this.#picture.area.bottom > this.#lines) continue
      if (grid.start[firstLine + this.#picture.area.bottom]! > keptUntil) continue
      list.push({
        index: recording.firstFrame + n,
        firstLine,
        startTick: frame.startTick,
        endTick: recording.frames[n + 1]?.startTick ?? Infinity,
        scanlines: Number.isNaN(frame.scanlines) ? null : frame.scanlines,
      })
    }
    if (list.length === 0)
      throw new SignalError(
        'FRAME_NOT_FOUND',
        'no whole frame with its vsync: an adapter could not tell where the picture begins',
        {},
        { hint: 'capture for at least two frame times (50 ms), vsync included' },
      )
    return list.slice(0, wanted)
  }

  /** Pulses, with the scanline each is the true sync of (NaN for a false one); true ones are put where the fit has them. */
  #hsyncPulses(): { pulses: SyncPulse[]; lines: number[] } {
    const { start, periodTicks } = this.#grid
    const near = OWN_EDGE_SAMPLES * this.#signal.source.sampleIntervalTicks
    const lines: number[] = []
    const pulses = pulsesOf(this.#sync, HSYNC_BIT, this.#segment.hsync.polarity).map((pulse) => {
      let line = Math.round((pulse.leadTick - start[0]!) / periodTicks)
      line = Math.min(Math.max(line, 0), start.length - 1)
      while (line > 0 && start[line]! - pulse.leadTick > periodTicks / 2) line--
      while (line < start.length - 1 && pulse.leadTick - start[line]! > periodTicks / 2) line++
      const off = pulse.leadTick - start[line]!
      const own = Math.abs(off) <= near && lines.at(-1) !== line
      lines.push(own ? line : NaN)
      return own ? { leadTick: start[line]!, trailTick: pulse.trailTick - off } : pulse
    })
    return { pulses, lines }
  }

  /** Composite sync has no pulses of its own for frames: a separator is taken to do its work. */
  #vsyncEdges(rule: CatchRule): VsyncEdge[] {
    const { recording } = this.#signal.source
    const polarity = this.#segment.vsync?.polarity
    const pulses = polarity ? pulsesOf(this.#sync, VSYNC_BIT, polarity) : []
    if (pulses.length === 0) return recording.frames.map(({ startTick }) => ({ leadTick: startTick }))
    // hold-off is meant for hsync: a frame's would be far longer
    return catchEdges(pulses, { ...rule, holdOffTicks: 0 }).map(({ pulse }) => pulses[pulse]!)
  }
}

interface KeptFrame {
  index: number
  /** Index into the grid of the scanline in which vsync falls. */
  firstLine: number
  startTick: number
  /** The next vsync; Infinity where none follows in what was kept. */
  endTick: number
  /** null while not over. */
  scanlines: number | null
}
