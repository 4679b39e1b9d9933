// The card's wires: every edge of every scanline, moved by skew and jitter, with the defects in it.

import { cardScanlines, type CardScanline } from './card-scanlines.ts'
import { CompositeSync } from './composite-sync.ts'
import type { DefectPlan } from './defect-plan.ts'
import type { DefectKind } from './choices.ts'
import type { EdgeQueue } from './edge-queue.ts'
import type { ScanlineShift } from './jitter.ts'
import { MOST_SIGMAS, seededRandom, type Random } from './random.ts'
import { ScanlineVideo } from './scanline-video.ts'
import { channelNamed, videoChannels, type SignalChannel } from './signal-channels.ts'
import { totalOf } from './signal-timing.ts'
import type { SynthesisOptions } from './synthesis-options.ts'

/** How the instrument sees the card. Positions are in samples from the first one, with fraction. */
export interface CaptureFrame {
  channels: readonly SignalChannel[]
  samplesPerDot: number
  /** Dot of the card at which the capture begins; frame 0 begins at dot 0. */
  startDot: number
  samples: number
  /** Delay of each channel, in samples. */
  skew: readonly number[]
}

/** Scanlines drawn before the capture begins: what they leave behind on the wires is its first levels. */
const LEAD_SCANLINES = 3

/** Draws one capture, scanline by scanline. */
export class CardSignal {
  readonly #options: SynthesisOptions
  readonly #frame: CaptureFrame
  readonly #plan: DefectPlan
  readonly #shift: ScanlineShift
  readonly #queues: readonly EdgeQueue[]
  readonly #video: ScanlineVideo
  readonly #composite: CompositeSync | undefined
  /** Standard deviation of single edges, in samples. */
  readonly #edgeNoise: number
  readonly #noise: readonly Random[]
  readonly #spikes: Random
  readonly #samplePhase: number
  readonly #missingVsyncs = new Set<number>()
  /** Shift of the scanline at hand, in samples. */
  #moved = 0
  #lit = 0
  #scanlineSite = -1
  #vsyncSite = -1

  /** @param queues one for each channel */
  constructor(
    options: SynthesisOptions,
    frame: CaptureFrame,
    plan: DefectPlan,
    shift: ScanlineShift,
    queues: readonly EdgeQueue[],
  ) {
    const { timing, composite, jitter, sampleRateHz, seed = 1 } = options
    this.#options = options
    this.#frame = frame
    this.#plan = plan
    this.#shift = shift
    this.#queues = queues
    this.#video = new ScanlineVideo(timing, options.picture)
    this.#composite = composite && new CompositeSync(composite, timing)
    this.#edgeNoise = (jitter?.randomSeconds ?? 0) * sampleRateHz
    this.#noise = frame.channels.map(({ name }) => seededRandom(seed, `edges ${name}`))
    this.#spikes = seededRandom(seed, 'spikes')
    // the instrument's clock knows nothing of the card's: where in a sample the capture begins is chance
    this.#samplePhase = seededRandom(seed, 'sample phase').uniform()
  }

  /** Pushes the edges of scanline after scanline; gives the position before which none will follow. */
  *draw(): Generator<number, void> {
    const { timing, sampleRateHz } = this.#options
    const { startDot, samples, skew, samplesPerDot } = this.#frame
    const dots = totalOf(timing.horizontal)
    const spread = MOST_SIGMAS * this.#edgeNoise + this.#shift.mostSeconds * sampleRateHz
    const earliest = Math.max(0, ...skew.map((delay) => -delay)) + spread + 1
    const isDropped = (frame: number, scanline: number, dot: number): boolean => {
      if (dot < startDot) return false
      this.#scanlineSite++
      const place = { frame, scanline }
      const strikes = this.#plan.struck('dropped-scanline', null, this.#scanlineSite, place)
      this.#note(strikes, null, this.#positionOf(dot), place)
      return strikes.length > 0
    }
    for (const scanline of cardScanlines(timing, startDot < 0 ? -1 : 0, isDropped)) {
      this.#moved = this.#shift.next((scanline.startDot * samplesPerDot) / sampleRateHz) * sampleRateHz
      const vsyncDots = this.#vsync(scanline)
      // long before the capture begins only vsync matters
      if (scanline.startDot >= startDot - LEAD_SCANLINES * dots) {
        this.#sync(scanline, vsyncDots)
        this.#colours(scanline)
        if (scanline.startDot >= startDot) this.#spike(scanline)
      } else this.#composite?.changes(scanline, [], vsyncDots)
      const settled = this.#positionOf(scanline.startDot + dots) - earliest
      yield settled
      if (settled > samples) return
    }
  }

  #positionOf(dot: number): number {
    return (dot - this.#frame.startDot) * this.#frame.samplesPerDot - this.#samplePhase
  }

  #place(channel: number, dot: number): number {
    return this.#positionOf(dot) + this.#moved + this.#frame.skew[channel]!
  }

  #edge(channel: number, dot: number): void {
    const off = this.#edgeNoise === 0 ? 0 : this.#edgeNoise * this.#noise[channel]!.gaussian()
    this.#queues[channel]!.push(this.#place(channel, dot) + off)
  }

  #note(
    strikes: readonly { request: { kind: DefectKind } }[],
    channel: number | null,
    position: number,
    { frame, scanline }: { frame: number; scanline: number },
  ): void {
    for (const { request } of strikes) {
      this.#plan.injected.push({
        kind: request.kind,
        channel: channel === null ? null : this.#frame.channels[channel]!.name,
        timeSeconds: position / this.#options.sampleRateHz,
        frame,
        scanline,
      })
    }
  }

  /** @returns where vsync changes in the scanline, missing pulses left out */
  #vsync(scanline: CardScanline): number[] {
    const vsyncDots: number[] = []
    for (const { dot, leading, pulse } of scanline.vsyncChanges) {
      if (leading && dot > this.#frame.startDot) {
        this.#vsyncSite++
        const strikes = this.#plan.struck('missing', 'VSYNC', this.#vsyncSite, scanline)
        if (strikes.length > 0) this.#missingVsyncs.add(pulse)
        this.#note(strikes, 1, this.#place(1, dot), scanline)
      }
      if (this.#missingVsyncs.has(pulse)) continue
      vsyncDots.push(dot)
      if (this.#composite) continue
      this.#edge(1, dot)
      this.#ring(1, dot, leading ? 'leading' : 'trailing', this.#vsyncSite, scanline)
    }
    return vsyncDots
  }

  /** The scanline's own sync pulse, or all of a composite sync. */
  #sync(scanline: CardScanline, vsyncDots: readonly number[]): void {
    const leading = scanline.startDot
    const trailing = leading + this.#options.timing.horizontal.sync
    const isCaptured = leading >= this.#frame.startDot
    const { name } = this.#frame.channels[0]!
    const missing = isCaptured ? this.#plan.struck('missing', name, this.#scanlineSite, scanline) : []
    this.#note(missing, 0, this.#place(0, leading), scanline)
    const pulses: [number, number][] = missing.length > 0 ? [] : [[leading, trailing]]
    const changes = this.#composite?.changes(scanline, pulses, vsyncDots) ?? pulses.flat()
    for (const dot of changes) this.#edge(0, dot)
    if (!isCaptured || pulses.length === 0) return
    this.#ring(0, leading, 'leading', this.#scanlineSite, scanline)
    this.#ring(0, trailing, 'trailing', this.#scanlineSite, scanline)
  }

  #ring(
    channel: number,
    dot: number,
    edge: 'leading' | 'trailing',
    site: number,
    scanline: CardScanline,
  ): void {
    const { sampleRateHz } = this.#options
    const { name } = this.#frame.channels[channel]!
    const strikes = this.#plan.struck('ringing', name, site, scanline, (request) => request.edge === edge)
    for (const strike of strikes) {
      const { delaySeconds, widthSeconds } = strike.request
      const at = this.#place(channel, dot) + delaySeconds * sampleRateHz
      this.#queues[channel]!.pushPulse(at, widthSeconds * sampleRateHz)
      this.#note([strike], channel, at, scanline)
    }
  }

  #colours(scanline: CardScanline): void {
    const video = this.#video
    const first = this.#composite ? 1 : 2
    const count = videoChannels(this.#options.timing).length
    const { codes } = video
    video.draw(scanline)
    for (let dot = 0; dot <= codes.length; dot++) {
      // the next scanline begins with sync, in which nothing is lit
      const code = dot < codes.length ? codes[dot]! : 0
      const changed = code ^ this.#lit
      if (changed === 0) continue
      for (let bit = 0; bit < count; bit++) {
        if ((changed >> bit) & 1) this.#edge(first + bit, scanline.startDot + dot)
      }
      this.#lit = code
    }
  }

  #spike(scanline: CardScanline): void {
    const { timing, sampleRateHz } = this.#options
    for (const strike of this.#plan.struck('spike', null, this.#scanlineSite, scanline)) {
      const { request, place } = strike
      const channel = channelNamed(this.#frame.channels, request.channel)
      const { sync } = timing.horizontal
      // by chance, but well apart from sync: between an eighth and seven eighths of what follows it
      const share = 1 / 8 + this.#spikes.uniform() * (6 / 8)
      const dot = place.dot ?? sync + Math.floor((totalOf(timing.horizontal) - sync) * share)
      const at = this.#place(channel, scanline.startDot + dot)
      this.#queues[channel]!.pushPulse(at, request.widthSeconds * sampleRateHz)
      this.#note([strike], channel, at, scanline)
    }
  }
}
