// What is cut out around a moment is what was on the wires, however late the moment is asked for.

import fc from 'fast-check'
import { expect, it } from 'vitest'
import { WaveformClips, type WaveformClip } from '../../src/transitions/waveform-clips.ts'

interface Row {
  tick: number
  channel: number
  level: number
}

const CHANNELS = 4

/** Rows in order of time; the level may be a repeated one, or unknown. */
const rows = fc
  .array(
    fc.record({
      gap: fc.integer({ min: 0, max: 6 }),
      channel: fc.nat(CHANNELS - 1),
      level: fc.constantFrom(0, 1, 0, 1, 0, 1, 3),
    }),
    { maxLength: 120 },
  )
  .map((list): Row[] => {
    let tick = 0
    return list.map(({ gap, channel, level }) => ({ tick: (tick += gap), channel, level }))
  })

function fed(clips: WaveformClips, list: readonly Row[]): void {
  clips.push(
    Float64Array.from(list, ({ tick }) => tick),
    Uint16Array.from(list, ({ channel }) => channel),
    Uint8Array.from(list, ({ level }) => level),
    0,
    list.length,
  )
}

/** The last known level at or before the tick, read off the rows one by one; undefined before the first. */
function levelAt(list: readonly Row[], channel: number, tick: number): number | undefined {
  return list.findLast((row) => row.channel === channel && row.tick <= tick && row.level <= 1)?.level
}

function clipLevel(clip: WaveformClip, channel: number, tick: number): number | null {
  const { levelBefore, ticks } = clip.channels[channel]!
  if (levelBefore === null) return null
  return ticks.filter((change) => change <= tick).length % 2 === 1 ? 1 - levelBefore : levelBefore
}

it('shows the levels that the wires had, wherever known', () => {
  fc.assert(
    fc.property(rows, fc.nat(400), fc.nat(20), fc.nat(120), (list, tick, reach, askedAfter) => {
      const clips = new WaveformClips(CHANNELS, reach, 10)
      fed(clips, list.slice(0, askedAfter))
      clips.want(tick, 'extra')
      fed(clips, list.slice(askedAfter))
      const [clip] = clips.finish()
      expect(clip).toMatchObject({ tick, fromTick: tick - reach, toTick: tick + reach })
      for (let channel = 0; channel < CHANNELS; channel++) {
        for (let at = tick - reach; at <= tick + reach; at++) {
          const expected = levelAt(list, channel, at)
          if (expected !== undefined) expect(clipLevel(clip!, channel, at)).toBe(expected)
        }
      }
    }),
  )
})

it('keeps no more of a kind than asked for, and all in order of time', () => {
  const clips = new WaveformClips(1, 5, 2)
  fed(
    clips,
    Array.from({ length: 100 }, (_, i) => ({ tick: 10 * i, channel: 0, level: i % 2 })),
  )
  for (const tick of [300, 100, 200]) clips.want(tick, 'missing')
  clips.want(50, 'extra')
  expect(clips.finish().map(({ tick }) => tick)).toEqual([50, 100, 300])
})

it('forgets what is long ago, and says from when on it knows', () => {
  const clips = new WaveformClips(2, 1000, 10)
  const rowCount = 1_100_000
  clips.push(
    Float64Array.from({ length: rowCount }, (_, i) => i),
    new Uint16Array(rowCount),
    Uint8Array.from({ length: rowCount }, (_, i) => i & 1),
    0,
    rowCount,
  )
  clips.want(rowCount - 2 ** 20, 'extra')
  const [clip] = clips.finish()
  // of 2^20 changes the oldest is remembered, and it lies within the reach of the moment
  expect(clip!.fromTick).toBe(rowCount - 2 ** 20)
  expect(clip!.channels[0]!.ticks[0]).toBe(rowCount - 2 ** 20)
  expect(clip!.channels[1]!.levelBefore).toBeNull()
})

it('cuts a clip short where a wire changes too often to be drawn', () => {
  const clips = new WaveformClips(1, 1e6, 1)
  const list = Array.from({ length: 20_000 }, (_, i) => ({ tick: i, channel: 0, level: i % 2 }))
  fed(clips, list)
  clips.want(10, 'extra')
  const [clip] = clips.finish()
  expect(clip!.channels[0]!.ticks).toHaveLength(8192)
  expect(clip!.toTick).toBe(8193)
})
