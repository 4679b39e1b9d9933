// The logic analyzer: reads all channels at its own instants. What happens between two samples and is over is not seen.

import { EdgeQueue } from './edge-queue.ts'

/** What a capture file is written from. */
export interface SampleSink {
  /** Levels from this sample on; bit i is channel i. The first call is for sample 0. */
  change(sample: number, word: number): void
}

/** Samples the edges of a few channels; all positions are in samples, with fraction. */
export class Instrument {
  readonly queues: readonly EdgeQueue[]
  /** Level changes of single channels that the samples show. */
  transitions = 0
  readonly #samples: number
  readonly #sink: SampleSink
  #word: number
  #written = -1
  #sample = 0

  /**
   * @param idleWord levels long before the capture
   * @param samples how many are taken
   */
  constructor(channels: number, idleWord: number, samples: number, sink: SampleSink) {
    this.queues = Array.from({ length: channels }, () => new EdgeQueue())
    this.#word = idleWord
    this.#samples = samples
    this.#sink = sink
  }

  /** Takes all samples before a position; no edge before it may be pushed later. */
  settle(until: number): void {
    const { queues } = this
    for (;;) {
      let first = 0
      let at = Infinity
      for (let channel = 0; channel < queues.length; channel++) {
        const next = queues[channel]!.next
        if (next < at) {
          at = next
          first = channel
        }
      }
      if (at >= until) return
      queues[first]!.shift()
      // an edge is seen by the first sample that is not before it
      const sample = Math.max(0, Math.ceil(at))
      if (sample >= this.#samples) continue
      if (sample > this.#sample) {
        this.#write()
        this.#sample = sample
      }
      this.#word ^= 1 << first
    }
  }

  end(): void {
    this.settle(Infinity)
    this.#write()
  }

  #write(): void {
    const changed = this.#written < 0 ? 0 : this.#word ^ this.#written
    if (changed === 0 && this.#written >= 0) return
    for (let rest = changed; rest !== 0; rest &= rest - 1) this.transitions++
    this.#sink.change(this.#sample, this.#word)
    this.#written = this.#word
  }
}
