// Which frames of each segment are kept: told of segments, frames and scanlines, it says when rows go to a recording.

import type { FrameSync } from '../sync/frame-sync.ts'
import { dropBefore, type Recording } from './recording.ts'
import { SyncRecorder } from './sync-recorder.ts'
import { WaitingRows } from './waiting-rows.ts'

/** Scanlines kept where no vsync tells where a frame ends. */
const MAX_SCANLINES = 1500

/** Which frames of a segment to keep. */
export interface WantedFrames {
  /** Index of the first, from 0. */
  first: number
  count: number
}

/** Keeps the wanted frames of the segment at hand. */
export class VideoRecorder {
  /** Where video changes go. */
  readonly video: WaitingRows = new WaitingRows()
  /** Where sync edges go; undefined where nobody wants them. */
  readonly sync: SyncRecorder | undefined
  readonly #wanted: WantedFrames
  #recording: Recording | undefined

  /** @param keepSync keep the sync edges of the wanted frames as well */
  constructor(wanted: WantedFrames, keepSync = false) {
    this.#wanted = wanted
    this.sync = keepSync ? new SyncRecorder() : undefined
  }

  /** Every frame of the segment that was wanted is kept. */
  get isDone(): boolean {
    return this.#recording !== undefined && !this.video.target
  }

  /** Everything older than the tick is assigned to a segment: keep it or let it go. */
  settle(tick: number): void {
    this.sync?.settle(tick, this.video.target !== undefined)
    this.video.settle(tick)
  }

  /** A segment begins: rows from this tick on are its own. */
  begin(tick: number): void {
    this.sync?.begin(tick)
    this.#recording = this.video.begin(tick)
  }

  /** Nothing of this segment is kept from here on. */
  #close(tick: number): void {
    this.settle(tick)
    this.video.target = undefined
  }

  scanline(number: number, tick: number): void {
    const recording = this.video.target
    if (!recording) return
    if (recording.frames.length === 0 && recording.scanlineNumber.length >= MAX_SCANLINES) {
      // no vsync: what there is stands for a frame
      this.#close(tick)
      return
    }
    recording.scanlineNumber.push(number)
    recording.scanlineTick.push(tick)
  }

  /** @param index of the frame in its segment */
  frameStarted(frame: FrameSync, index: number): void {
    const recording = this.video.target
    if (!recording) return
    const { first, count } = this.#wanted
    if (index < first) {
      this.settle(frame.startTick)
      this.sync?.dropBefore(frame.startTick)
      dropBefore(recording, frame.startTick)
      return
    }
    if (recording.frames.length === 0) recording.firstFrame = index
    recording.frames.push(frame)
    if (index >= first + count) this.#close(frame.startTick)
  }

  /** The segment is over (at this tick); hands its recording on. */
  finish(tick: number): Recording | undefined {
    this.#close(tick)
    const recording = this.#recording
    this.#recording = undefined
    if (!recording) return undefined
    // that a segment is over may show only a frame later: what was recorded since is not its own
    while (recording.scanlineTick.length > 0 && recording.scanlineTick.at(-1)! > tick) {
      recording.scanlineTick.pop()
      recording.scanlineNumber.pop()
    }
    if (this.sync) recording.sync = this.sync.finish()
    return recording
  }
}
