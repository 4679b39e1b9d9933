// A card, its defects and an instrument → the bytes of a capture, in chunks: card → defects → instrument → VCD or CSV.
// Only the edges of a scanline or so are in memory.

import { CardSignal, type CaptureFrame } from './card-signal.ts'
import { CsvWriter } from './csv-writer.ts'
import { DefectPlan } from './defect-plan.ts'
import type { DefectSites } from './defects.ts'
import { impossible } from './impossible.ts'
import { Instrument } from './instrument.ts'
import { ScanlineShift } from './jitter.ts'
import { channelNamed, signalChannels, type SignalChannel } from './signal-channels.ts'
import { scanlinesOf, totalOf, type SignalTiming } from './signal-timing.ts'
import {
  checkOptions,
  DEFAULT_START_PHASE,
  type SynthesisOptions,
  type SynthesisSummary,
} from './synthesis-options.ts'
import { TextSink } from './text-sink.ts'
import { VcdWriter } from './vcd-writer.ts'

export type { SynthesisOptions, SynthesisSummary } from './synthesis-options.ts'

/** Whole numbers stay exact, and so do times in picoseconds for two hours. */
const MAX_SAMPLES = 1e12

/** Makes one capture. */
export class CaptureSynthesizer {
  readonly #options: SynthesisOptions
  readonly #frame: CaptureFrame
  readonly #sites: DefectSites
  #summary: SynthesisSummary | undefined

  /**
   * @throws {CaptureError} SYNTHESIS_IMPOSSIBLE for what cannot be made, before any byte is
   * @throws {RangeError} where the picture does not fill the timing's active area
   */
  constructor(options: SynthesisOptions) {
    checkOptions(options)
    this.#options = options
    this.#frame = captureFrame(options)
    this.#sites = defectSites(options, this.#frame)
    // what is wrong with a request is to be said now, and not when half of the file is written
    this.#plan()
    this.#shift()
  }

  /** @throws {RangeError} before `chunks` has come to its end */
  get summary(): SynthesisSummary {
    if (!this.#summary) throw new RangeError('the summary is known when all chunks are made')
    return this.#summary
  }

  /** The file's bytes; the same ones every time. Each chunk belongs to whoever takes it. */
  *chunks(): Generator<Uint8Array, void> {
    const { form = 'vcd', sampleRateHz, timing } = this.#options
    const { channels, samples } = this.#frame
    const out = new TextSink()
    const writer =
      form === 'vcd'
        ? new VcdWriter(out, channels, sampleRateHz, `synthetic: ${timing.name}`)
        : new CsvWriter(out, form, channels, sampleRateHz)
    const instrument = new Instrument(channels.length, this.#idleWord(), samples, writer)
    const plan = this.#plan()
    const card = new CardSignal(this.#options, this.#frame, plan, this.#shift(), instrument.queues)
    for (const settled of card.draw()) {
      instrument.settle(settled)
      yield* out.take()
    }
    instrument.end()
    writer.end(samples - 1)
    yield* out.end()
    this.#summary = {
      channels,
      samples,
      durationSeconds: samples / sampleRateHz,
      transitions: instrument.transitions,
      defects: plan.injected
        .filter(({ timeSeconds }) => timeSeconds >= 0 && timeSeconds * sampleRateHz < samples)
        .sort((a, b) => a.timeSeconds - b.timeSeconds),
    }
  }

  #plan(): DefectPlan {
    const { defects = [], seed = 1 } = this.#options
    return new DefectPlan(defects, this.#frame.channels, this.#sites, scanlineSeconds(this.#options), seed)
  }

  #shift(): ScanlineShift {
    const { jitter = {}, seed = 1 } = this.#options
    return new ScanlineShift(jitter, scanlineSeconds(this.#options), seed)
  }

  #idleWord(): number {
    const { timing, composite } = this.#options
    const high = (polarity: string): number => (polarity === 'negative' ? 1 : 0)
    return high(timing.hsyncPolarity) | (composite ? 0 : high(timing.vsyncPolarity) << 1)
  }
}

/** Makes a capture all at once; for long ones take `CaptureSynthesizer.chunks` as they come. */
export function synthesize(options: SynthesisOptions): { chunks: Uint8Array[]; summary: SynthesisSummary } {
  const synthesizer = new CaptureSynthesizer(options)
  const chunks = [...synthesizer.chunks()]
  return { chunks, summary: synthesizer.summary }
}

function actualDotClockHz({ timing, clockErrorPpm = 0 }: SynthesisOptions): number {
  return timing.dotClockHz * (1 + clockErrorPpm * 1e-6)
}

function scanlineSeconds(options: SynthesisOptions): number {
  return totalOf(options.timing.horizontal) / actualDotClockHz(options)
}

function frameDots(timing: SignalTiming): number {
  return scanlinesOf(timing) * totalOf(timing.horizontal)
}

/** @throws {CaptureError} SYNTHESIS_IMPOSSIBLE */
function captureFrame(options: SynthesisOptions): CaptureFrame {
  const { timing, sampleRateHz, frames, startPhase = DEFAULT_START_PHASE, composite } = options
  const channels = signalChannels(timing, composite !== undefined)
  const samplesPerDot = sampleRateHz / actualDotClockHz(options)
  const samples = Math.floor(frames * frameDots(timing) * samplesPerDot)
  if (samples < 1 || samples > MAX_SAMPLES) {
    throw impossible(
      `the capture would have ${samples} samples`,
      'give another number of frames or another sample rate',
    )
  }
  return {
    channels,
    samplesPerDot,
    startDot: startPhase === 0 ? 0 : (startPhase - 1) * frameDots(timing),
    samples,
    skew: skewSamples(options, channels),
  }
}

/** @throws {CaptureError} SYNTHESIS_IMPOSSIBLE */
function skewSamples(options: SynthesisOptions, channels: readonly SignalChannel[]): number[] {
  const skew = channels.map(() => 0)
  for (const [name, seconds] of Object.entries(options.skewSeconds ?? {})) {
    if (!(Math.abs(seconds) <= scanlineSeconds(options))) {
      throw impossible(
        `${name} cannot be ${seconds * 1e9} ns late`,
        'give a skew in nanoseconds, less than a scanline either way',
      )
    }
    skew[channelNamed(channels, name)] = seconds * options.sampleRateHz
  }
  return skew
}

function defectSites({ timing, frames }: SynthesisOptions, { startDot }: CaptureFrame): DefectSites {
  const dots = frameDots(timing)
  const endDot = startDot + frames * dots
  const fieldDots = totalOf(timing.vertical) * totalOf(timing.horizontal)
  return {
    scanlines: Math.floor((frames * dots) / totalOf(timing.horizontal)),
    // leading edges after the begin and before the end
    vsyncs: Math.max(0, Math.ceil(endDot / fieldDots) - Math.floor(startDot / fieldDots) - 1),
    scanlinesPerFrame: scanlinesOf(timing),
    frames: { first: startDot < 0 ? -1 : 0, last: Math.ceil(endDot / dots) - 1 },
  }
}
