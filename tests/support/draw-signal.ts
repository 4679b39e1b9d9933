// Timing + picture → the exact signal on the connector, with the card's own defects. Sampling comes later, in
// sample-signal.ts.

import type { CardScanline, ScanlinePlace } from './card-scanlines.ts'
import { cardScanlines, scanlinesPerFrame } from './card-scanlines.ts'
import type { CompositeKind } from './composite-sync.ts'
import { combineSyncs, serratedPulses } from './composite-sync.ts'
import type { Picture } from './pictures.ts'
import type { Random } from './random.ts'
import { newRandom } from './random.ts'
import type { Signal } from './signal.ts'
import { cutChannel } from './signal.ts'
import { ToggleList } from './toggle-list.ts'
import type { Timing } from './timings.ts'

/** A short pulse that comes after (delay > 0) or before (delay < 0) an edge of hsync and inverts its level. */
interface Ringing {
  edge?: 'leading' | 'trailing'
  delaySeconds: number
  widthSeconds: number
  /** Share of edges that ring. */
  probability: number
}

interface Spike {
  /** Probe name before renaming; the level is inverted for widthSeconds. */
  channel: string
  at: { seconds: number } | (ScanlinePlace & { dot: number })
  widthSeconds: number
}

export interface DrawOptions {
  /** Length of the capture in frames; need not be whole. */
  frames: number
  /** How far into frame 0 the capture begins, in frames. Default 0: with vsync's scanline. */
  startFrames?: number
  seed?: number
  /** Standard deviation of every hsync edge, each by itself. */
  hsyncJitterSeconds?: number
  /** Standard deviation of each scanline's begin; all channels move together, and the error does not add up. */
  cardJitterSeconds?: number
  /** The card's crystal against its nominal value. */
  dotClockErrorPpm?: number
  /** Delay per probe name; negative is early. */
  skewSeconds?: Record<string, number>
  ringing?: Ringing
  missingHsync?: readonly ScanlinePlace[]
  shiftedHsync?: readonly (ScanlinePlace & { seconds: number })[]
  /** Trailing edge later by so much; negative makes the pulse shorter. */
  resizedHsync?: readonly (ScanlinePlace & { seconds: number })[]
  /** Of one frame's vsync (both of them when interlaced): not sent, sent at another time, or lasting longer. */
  missingVsync?: readonly { frame: number }[]
  shiftedVsync?: readonly { frame: number; scanlines: number }[]
  resizedVsync?: readonly { frame: number; scanlines: number }[]
  /** All channels sway together, as a sine of time. */
  hum?: { hertz: number; amplitudeSeconds: number }
  /** All channels drift together: Gaussian, its memory fading by 1/e over so many scanlines. */
  wander?: { sigmaSeconds: number; scanlines: number }
  hsyncAbsentInVsync?: boolean
  droppedScanlines?: readonly ScanlinePlace[]
  extraScanlines?: readonly ScanlinePlace[]
  spikes?: readonly Spike[]
  /** One wire CSYNC in place of H and V. */
  composite?: { kind: CompositeKind; polarity: 'positive' | 'negative' }
  /** A second picture that takes the first one's place in the frames named, as a blinking cursor does. */
  otherPicture?: { picture: Picture; isShown: (frame: number) => boolean }
  /** Wires from inside the card. */
  inside?: readonly ('DE' | 'DCLK')[]
  /** Probe names left unconnected; a name that does not exist is an error. */
  omit?: readonly string[]
  /** New probe names, all given at once, so that two can be swapped. */
  rename?: Record<string, string>
}

/** A defect that was put into the window, for comparing with what is found. */
interface DrawnDefect {
  kind: 'ringing' | 'missing' | 'shifted' | 'resized' | 'spike'
  seconds: number
  /** Where it was put; frame and scanline are absent for spikes given by time. */
  place?: ScanlinePlace
}

/** What is true of a drawn signal. Times are seconds from the capture's begin, only those within it. */
interface Truth {
  dotClockHz: number
  scanlineHz: number
  frameHz: number
  /** Where every scanline begins, free of jitter; missing pulses included. */
  scanlineSeconds: Float64Array
  /** Where vsync (or its part of composite sync) begins, free of skew. */
  vsyncSeconds: Float64Array
  /** Begins of frames and their real number of scanlines, whole frames only. */
  wholeFrames: { seconds: number; scanlines: number }[]
  defects: DrawnDefect[]
}

export interface DrawnSignal extends Signal {
  truth: Truth
}

/**
 * Draws what the card puts out.
 *
 * Channels come in the order H V (or CSYNC), the timing's colours, then those of `inside`.
 */
export function drawSignal(timing: Timing, picture: Picture, options: DrawOptions): DrawnSignal {
  const { frames, startFrames = 0 } = options
  const perFrame = scanlinesPerFrame(timing)
  const dotClockHz = timing.dotClockHz * (1 + (options.dotClockErrorPpm ?? 0) * 1e-6)
  const dotsPerFrame = perFrame * timing.h.total
  const startSeconds = (startFrames * dotsPerFrame) / dotClockHz
  const durationSeconds = (frames * dotsPerFrame) / dotClockHz
  const window = { startSeconds, durationSeconds }

  const random = newRandom(options.seed ?? 1)
  const hsync = new ToggleList()
  const vsync = new ToggleList()
  const vsyncBegins = new ToggleList()
  const scanlineBegins = new ToggleList()
  const enable = new ToggleList()
  const dotClock = new ToggleList()
  const colours = timing.channels.map(() => new ToggleList())
  const frameBegins: { seconds: number; scanlines: number; frame: number }[] = []
  const defects: DrawnDefect[] = []
  const codes = new Uint16Array(timing.h.total)

  // one scanline of margin, for skew and for what was lit when the capture began
  const untilDot = (startFrames + frames) * dotsPerFrame + timing.h.total
  const fromFrame = Math.floor(startFrames) - 1
  let vsyncChanges = 0
  const swayOf = newSway(options)
  for (const scanline of cardScanlines(
    timing,
    fromFrame,
    untilDot,
    options.droppedScanlines ?? [],
    options.extraScanlines ?? [],
  )) {
    const shift =
      (options.cardJitterSeconds ?? 0) * random.gaussian() + swayOf(scanline.startDot / dotClockHz)
    const secondsOf = (dot: number): number => dot / dotClockHz + shift
    for (const dot of scanline.vsyncChangeDots) {
      const isBegin = vsyncChanges++ % 2 === 0
      if (options.missingVsync?.some(({ frame: at }) => at === scanline.frame) === true) continue
      const late = vsyncLate(options, scanline.frame, isBegin) * timing.h.total
      if (isBegin) vsyncBegins.push((dot + late) / dotClockHz)
      vsync.push(secondsOf(dot + late))
    }
    scanlineBegins.push(scanline.startDot / dotClockHz)
    const frame = frameBegins.at(-1)
    if (frame?.frame === scanline.frame) frame.scanlines++
    else frameBegins.push({ seconds: scanline.startDot / dotClockHz, scanlines: 1, frame: scanline.frame })
    // long before the window: only its vsync and its count of scanlines matter
    if (scanline.startDot + 2 * timing.h.total < startFrames * dotsPerFrame) continue
    pushHsync(hsync, defects, timing, scanline, secondsOf, random, options)
    for (const spike of options.spikes ?? []) {
      if (!('dot' in spike.at) || !isAt(scanline, spike.at)) continue
      defects.push({ kind: 'spike', seconds: secondsOf(scanline.startDot + spike.at.dot), place: spike.at })
    }
    const { otherPicture } = options
    const shown = otherPicture?.isShown(scanline.frame) === true ? otherPicture.picture : picture
    scanlineCodes(codes, timing, shown, scanline)
    pushColours(colours, codes, scanline.startDot, secondsOf)
    if (scanline.pictureRow >= 0) {
      const left = scanline.startDot + timing.h.sync + timing.h.backPorch
      enable.pushPulse(secondsOf(left), secondsOf(left + timing.h.active))
    }
    if (options.inside?.includes('DCLK') === true) {
      for (let dot = 0; dot < timing.h.total; dot++)
        dotClock.pushPulse(secondsOf(scanline.startDot + dot), secondsOf(scanline.startDot + dot + 0.5))
    }
  }

  const wires = connectorWires(timing, options, { hsync, vsync, enable, dotClock, colours })
  for (const spike of options.spikes ?? []) {
    if ('seconds' in spike.at) defects.push({ kind: 'spike', seconds: spike.at.seconds + startSeconds })
  }
  const signal = cutWires(wires, options, window, defects)
  const within = (times: ToggleList): Float64Array => {
    const all = times.sorted().map((seconds) => seconds - startSeconds)
    return all.filter((seconds) => seconds >= 0 && seconds < durationSeconds)
  }
  return {
    ...signal,
    truth: {
      dotClockHz,
      scanlineHz: dotClockHz / timing.h.total,
      frameHz: dotClockHz / dotsPerFrame,
      scanlineSeconds: within(scanlineBegins),
      vsyncSeconds: within(vsyncBegins),
      wholeFrames: frameBegins
        .map(({ seconds, scanlines }) => ({ seconds: seconds - startSeconds, scanlines }))
        .filter(
          ({ seconds, scanlines }) =>
            seconds >= 0 &&
            seconds + (scanlines * timing.h.total) / dotClockHz <= durationSeconds * (1 + 1e-9),
        ),
      defects: defects
        .map((defect) => ({ ...defect, seconds: defect.seconds - startSeconds }))
        .filter(({ seconds }) => seconds >= 0 && seconds < durationSeconds)
        .sort((a, b) => a.seconds - b.seconds),
    },
  }
}

/** Scanlines by which an edge of a frame's vsync comes late. */
function vsyncLate({ shiftedVsync, resizedVsync }: DrawOptions, frame: number, isBegin: boolean): number {
  const shift = shiftedVsync?.find((at) => at.frame === frame)?.scanlines ?? 0
  const longer = isBegin ? 0 : (resizedVsync?.find((at) => at.frame === frame)?.scanlines ?? 0)
  return shift + longer
}

/** Slow movement of the whole card, scanline by scanline. Has a chance of its own: it must not change other defects. */
function newSway({ hum, wander, seed }: DrawOptions): (seconds: number) => number {
  const random = newRandom((seed ?? 1) + 7_777_777)
  let drift = (wander?.sigmaSeconds ?? 0) * random.gaussian()
  return (seconds) => {
    let sway = 0
    if (hum) sway += hum.amplitudeSeconds * Math.sin(2 * Math.PI * hum.hertz * seconds)
    if (wander) {
      sway += drift
      const kept = Math.exp(-1 / wander.scanlines)
      drift = drift * kept + wander.sigmaSeconds * Math.sqrt(1 - kept * kept) * random.gaussian()
    }
    return sway
  }
}

function isAt(scanline: ScanlinePlace, place: ScanlinePlace): boolean {
  return scanline.frame === place.frame && scanline.scanline === place.scanline
}

/** The scanline's sync pulses, as the defects leave them. */
function pushHsync(
  hsync: ToggleList,
  defects: DrawnDefect[],
  timing: Timing,
  scanline: CardScanline,
  secondsOf: (dot: number) => number,
  random: Random,
  options: DrawOptions,
): void {
  const { frame, scanline: number, startDot } = scanline
  const place = { frame, scanline: number }
  if (options.hsyncAbsentInVsync === true && scanline.isInVsync) return
  if (options.missingHsync?.some((at) => isAt(scanline, at)) === true) {
    defects.push({ kind: 'missing', seconds: secondsOf(startDot), place })
    return
  }
  const shifted = options.shiftedHsync?.find((at) => isAt(scanline, at))
  if (shifted !== undefined)
    defects.push({ kind: 'shifted', seconds: secondsOf(startDot) + shifted.seconds, place })
  const resized = options.resizedHsync?.find((at) => isAt(scanline, at))
  if (resized !== undefined) defects.push({ kind: 'resized', seconds: secondsOf(startDot), place })
  const pulses: [number, number][] =
    options.composite?.kind === 'serrated'
      ? serratedPulses(timing, scanline)
      : [[startDot, startDot + timing.h.sync]]
  for (const [leadingDot, trailingDot] of pulses) {
    const wobble = (): number =>
      (shifted?.seconds ?? 0) + (options.hsyncJitterSeconds ?? 0) * random.gaussian()
    const leading = secondsOf(leadingDot) + wobble()
    const trailing = secondsOf(trailingDot) + wobble() + (resized?.seconds ?? 0)
    hsync.pushPulse(leading, trailing)
    const { ringing } = options
    if (ringing !== undefined && random.uniform() < ringing.probability) {
      const seconds = (ringing.edge === 'trailing' ? trailing : leading) + ringing.delaySeconds
      hsync.pushPulse(seconds, seconds + ringing.widthSeconds)
      defects.push({ kind: 'ringing', seconds, place })
    }
  }
}

/** Codes of a scanline's dots, counted from hsync's leading edge: picture, border, and 0 in blanking. */
function scanlineCodes(codes: Uint16Array, timing: Timing, picture: Picture, scanline: CardScanline): void {
  const { sync, backPorch, active, total } = timing.h
  const left = sync + backPorch
  codes.fill(0)
  const { border } = picture
  if (border !== undefined && scanline.scanlinesToActive <= border.scanlines) {
    codes.fill(border.code, Math.max(sync, left - border.dots), Math.min(total, left + active + border.dots))
  }
  if (scanline.pictureRow >= 0) {
    const from = scanline.pictureRow * picture.widthDots
    codes.set(picture.codes.subarray(from, from + active), left)
  }
}

function pushColours(
  colours: readonly ToggleList[],
  codes: Uint16Array,
  startDot: number,
  secondsOf: (dot: number) => number,
): void {
  let before = 0
  for (let dot = 0; dot <= codes.length; dot++) {
    // every scanline ends at 0: sync follows, and nothing is lit in it
    const code = dot < codes.length ? codes[dot]! : 0
    let changed = code ^ before
    if (changed === 0) continue
    const seconds = secondsOf(startDot + dot)
    for (let bit = 0; changed !== 0; bit++, changed >>= 1) if (changed & 1) colours[bit]!.push(seconds)
    before = code
  }
}

interface Wire {
  name: string
  times: ToggleList
  idle: 0 | 1
}

function connectorWires(
  timing: Timing,
  options: DrawOptions,
  drawn: Record<'hsync' | 'vsync' | 'enable' | 'dotClock', ToggleList> & { colours: ToggleList[] },
): Wire[] {
  const idleOf = (polarity: 'positive' | 'negative'): 0 | 1 => (polarity === 'positive' ? 0 : 1)
  const wires: Wire[] = []
  const { composite } = options
  if (composite === undefined) {
    wires.push({ name: 'H', times: drawn.hsync, idle: idleOf(timing.hsyncPolarity) })
    wires.push({ name: 'V', times: drawn.vsync, idle: idleOf(timing.vsyncPolarity) })
  } else {
    const times =
      composite.kind === 'serrated'
        ? drawn.hsync
        : combineSyncs(composite.kind, drawn.hsync.sorted(), drawn.vsync.sorted())
    wires.push({ name: 'CSYNC', times, idle: idleOf(composite.polarity) })
  }
  timing.channels.forEach((name, bit) => wires.push({ name, times: drawn.colours[bit]!, idle: 0 }))
  for (const name of options.inside ?? []) {
    wires.push({ name, times: name === 'DE' ? drawn.enable : drawn.dotClock, idle: 0 })
  }
  for (const name of [...(options.omit ?? []), ...Object.keys(options.skewSeconds ?? {})]) {
    if (!wires.some((wire) => wire.name === name)) throw new Error(`the card has no channel ${name}`)
  }
  return wires
}

/** Skew, spikes, the capture's window, and the names on the probes. */
function cutWires(
  wires: readonly Wire[],
  options: DrawOptions,
  window: { startSeconds: number; durationSeconds: number },
  defects: readonly DrawnDefect[],
): Signal {
  const signal: Signal = {
    channels: [],
    startLevels: [],
    toggles: [],
    durationSeconds: window.durationSeconds,
  }
  for (const { name, times, idle } of wires) {
    if (options.omit?.includes(name) === true) continue
    const skew = options.skewSeconds?.[name] ?? 0
    for (const spike of options.spikes ?? []) {
      if (spike.channel !== name) continue
      for (const seconds of spikeSeconds(spike, window.startSeconds, defects))
        times.pushPulse(seconds - skew, seconds - skew + spike.widthSeconds)
    }
    const { startLevel, toggles } = cutChannel(
      times.sorted(),
      idle,
      window.startSeconds - skew,
      window.durationSeconds,
    )
    signal.channels.push(options.rename?.[name] ?? name)
    signal.startLevels.push(startLevel)
    signal.toggles.push(toggles)
  }
  return signal
}

function spikeSeconds(spike: Spike, startSeconds: number, defects: readonly DrawnDefect[]): number[] {
  if ('seconds' in spike.at) return [spike.at.seconds + startSeconds]
  // an extra scanline passes the same place twice
  return defects
    .filter((defect) => defect.kind === 'spike' && defect.place === spike.at)
    .map(({ seconds }) => seconds)
}
