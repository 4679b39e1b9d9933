// Rows that are passed over while no frame is kept come back as if every one had been read: held against a list of all
// changes, with batches that are filled again as soon as they may be.

import { describe, expect, it } from 'vitest'
import {
  batchesInTurn,
  KEPT_BATCHES,
  LEVEL_UNKNOWN,
  NO_LEVEL,
  type TransitionBatch,
} from '../../src/capture/transition-batch.ts'
import type { VideoRows } from '../../src/dots/passed-rows.ts'
import type { Recording } from '../../src/dots/recording.ts'
import { VideoRecorder } from '../../src/dots/video-recorder.ts'
import { newRandom, type Random } from '../support/random.ts'
import { frameOf } from '../sync/hand-made-sync.ts'

/** Three planes, sync, and a plane that is told late or never. */
const PLANE_BIT = Uint16Array.of(1, 2, 4, 0, 8)
const SYNC = 3
const LATE = 4

/** Every change, in order: its tick and the levels of all planes after it. */
class Changes {
  readonly list: [tick: number, levels: number][] = []
  #levels = 0

  add(tick: number, bit: number, level: number): void {
    this.#levels = level === 1 ? this.#levels | bit : this.#levels & ~bit
    this.list.push([tick, this.#levels])
  }

  before(tick: number): number {
    return this.list.filter(([at]) => at < tick).at(-1)?.[1] ?? 0
  }

  /** Those from one tick on and before another; several at one tick are one. */
  between(from: number, to: number): [number, number][] {
    return [...new Map(this.list.filter(([at]) => at >= from && at < to))]
  }

  isNear(tick: number, reach: number): boolean {
    return this.list.some(([at]) => Math.abs(at - tick) <= reach)
  }
}

/** A recorder and the list, fed alike; decides at each edge of sync what happens next. */
class Trial {
  readonly changes = new Changes()
  readonly recorder = new VideoRecorder({ first: 0, count: 1 })
  readonly last = new Uint8Array(PLANE_BIT.length).fill(NO_LEVEL)
  readonly #random: Random
  #settled = 0
  /** How long sync takes to settle. */
  #lag = 20
  #begun = NaN
  #kept = NaN
  recordings = 0
  questions = 0

  constructor(random: Random) {
    this.#random = random
  }

  feed({ tick: ticks, channel: channels, level: levels, count }: TransitionBatch): void {
    const { recorder, last } = this
    const rows: VideoRows = { ticks, channels, levels, from: 0, to: count, planeBit: PLANE_BIT, last }
    for (let row = 0; row < count; row++) {
      row = recorder.video.take(rows, row)
      if (row < count) this.#takeOther(ticks[row]!, channels[row]!, levels[row]!)
    }
    recorder.video.endBatch()
  }

  #takeOther(tick: number, channel: number, level: number): void {
    if (channel === SYNC) return this.#decide(tick)
    if (level === this.last[channel] || level === LEVEL_UNKNOWN) return
    this.last[channel] = level
    this.recorder.video.push(tick, PLANE_BIT[channel]!, level)
  }

  #decide(now: number): void {
    const { recorder, changes } = this
    const random = this.#random
    if (random.uniform() < 0.02) this.#lag = random.below(random.uniform() < 0.5 ? 20 : 400)
    this.#settled = Math.max(this.#settled, now - this.#lag)
    recorder.settle(this.#settled)
    if (random.uniform() < 0.1) {
      this.questions++
      const reach = random.below(5)
      const tick = this.#settled + reach + random.below(10)
      // later ones are not told yet
      if (tick + reach < now)
        expect(recorder.video.changesNear(tick, reach)).toBe(changes.isNear(tick, reach))
    }
    if (Number.isNaN(this.#begun)) {
      if (random.uniform() > 0.05) return
      recorder.begin(this.#settled)
      recorder.frameStarted(frameOf(this.#settled), 0)
      this.#begun = this.#settled
    } else if (Number.isNaN(this.#kept)) {
      if (random.uniform() > 0.2) return
      recorder.frameStarted(frameOf(this.#settled), 1)
      this.#kept = this.#settled
    } else if (random.uniform() < 0.1) {
      this.#judge(recorder.finish(this.#settled)!)
    }
  }

  #judge({ tick, levels, rows, initialLevels }: Recording): void {
    this.recordings++
    expect(initialLevels).toBe(this.changes.before(this.#begun))
    const kept = Array.from({ length: rows }, (_, row) => [tick[row]!, levels[row]!])
    expect(kept).toEqual(this.changes.between(this.#begun, this.#kept))
    this.#begun = NaN
    this.#kept = NaN
  }
}

/** @param oddShare of rows that repeat a level or lead to none */
function run(seed: number, batches: number, oddShare: number): Trial {
  const random = newRandom(seed)
  const trial = new Trial(random)
  const nextBatch = batchesInTurn()
  const told = new Uint8Array(PLANE_BIT.length).fill(NO_LEVEL)
  const syncShare = random.uniform() < 0.3 ? 0.9 : 0.2
  const lateFrom = random.below(2 * batches)
  let now = 0
  for (let n = 0; n < batches; n++) {
    const batch = nextBatch()
    batch.count = 1 + random.below(40)
    for (let row = 0; row < batch.count; row++) {
      now += random.below(4)
      const isSync = random.uniform() < syncShare
      const channel = isSync ? SYNC : random.below(n < lateFrom ? LATE : LATE + 1)
      const isOdd = random.uniform() < oddShare
      const level = isOdd ? random.below(LEVEL_UNKNOWN + 1) : told[channel] === 1 ? 0 : 1
      batch.tick[row] = now
      batch.channel[row] = channel
      batch.level[row] = level
      if (level === LEVEL_UNKNOWN || level === told[channel]) continue
      told[channel] = level
      const bit = PLANE_BIT[channel]!
      if (bit > 0) trial.changes.add(now, bit, level)
    }
    trial.feed(batch)
  }
  return trial
}

describe('rows that are passed over', () => {
  it.each([
    ['all are changes', 0],
    ['some repeat a level or lead to none', 0.02],
    ['many do', 0.3],
  ])('are there when they are asked for: %s', (_, oddShare) => {
    let recordings = 0
    let questions = 0
    for (let seed = 1; seed <= 60; seed++) {
      const trial = run(seed, 150, oddShare)
      recordings += trial.recordings
      questions += trial.questions
    }
    // else nothing was looked at
    expect(recordings).toBeGreaterThan(300)
    expect(questions).toBeGreaterThan(1000)
  })

  it('leave their levels behind when they are let go', () => {
    const nextBatch = batchesInTurn()
    const trial = new Trial(newRandom(1))
    const { recorder, last } = trial
    const feed = (...rows: [tick: number, channel: number, level: number][]): void => {
      const { tick: ticks, channel: channels, level: levels } = nextBatch()
      rows.forEach(([tick, channel, level], row) => {
        ticks[row] = tick
        channels[row] = channel
        levels[row] = level
      })
      const batch = { ticks, channels, levels, from: 0, to: rows.length, planeBit: PLANE_BIT, last }
      for (let row = 0; row < rows.length; row++) row = recorder.video.take(batch, row)
      recorder.video.endBatch()
    }
    last.fill(0)
    // read, as a plane of unknown level is; then one that goes past
    last[1] = 1
    recorder.video.push(1, 2, 1)
    feed([2, 0, 1])
    for (let n = 1; n <= KEPT_BATCHES + 1; n++) {
      feed([10 * n, SYNC, 1], [10 * n + 5, SYNC, 0])
      recorder.settle(10 * n + 5)
    }
    recorder.begin(100)
    expect(recorder.finish(200)!.initialLevels).toBe(3)
  })

  it('stay where they lie, in as many batches as are kept', () => {
    const nextBatch = batchesInTurn()
    const batches = Array.from({ length: KEPT_BATCHES + 2 }, nextBatch)
    expect(new Set(batches.slice(0, -1)).size).toBe(KEPT_BATCHES + 1)
    expect(batches.at(-1)).toBe(batches[0])
  })
})
