// What recorders of video and sync keep of the frames that are wanted, and what they let go.

import { describe, expect, it } from 'vitest'
import { HSYNC_BIT, SyncRecorder, VSYNC_BIT } from '../../src/dots/sync-recorder.ts'
import { colourEdgeShare, type Recording } from '../../src/dots/recording.ts'
import { VideoRecorder } from '../../src/dots/video-recorder.ts'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { frameOf } from '../sync/hand-made-sync.ts'

const frame = (startTick: number): FrameSync =>
  frameOf(startTick, { firstScanline: startTick / 100, scanlines: 10 })

const rowsOf = ({ tick, levels, rows }: Recording): [number, number][] =>
  Array.from({ length: rows }, (_, row) => [tick[row]!, levels[row]!])

/** Ten scanlines of 100 ticks to a frame, two changes in each. */
function record(
  wanted: { first: number; count: number },
  frames: number,
  keepSync = false,
): { recorder: VideoRecorder; recording: Recording } {
  const recorder = new VideoRecorder(wanted, keepSync)
  recorder.begin(0)
  for (let line = 0; line < 10 * frames; line++) {
    if (line % 10 === 5) recorder.frameStarted(frame(100 * line), Math.floor(line / 10))
    recorder.scanline(line, 100 * line)
    recorder.sync?.push(100 * line, HSYNC_BIT, 1)
    recorder.sync?.push(100 * line + 10, HSYNC_BIT, 0)
    recorder.video.push(100 * line + 30, 1, 1)
    recorder.video.push(100 * line + 60, 1, 0)
    recorder.settle(100 * line)
  }
  return { recorder, recording: recorder.finish(1000 * frames)! }
}

describe('VideoRecorder', () => {
  it('keeps levels of all planes by time, several changes at one tick as one', () => {
    const recorder = new VideoRecorder({ first: 0, count: 1 })
    recorder.video.setInitial(4)
    recorder.begin(0)
    recorder.video.push(10, 1, 1)
    recorder.video.push(20, 2, 1)
    recorder.video.push(20, 1, 0)
    recorder.video.push(30, 4, 0)
    const recording = recorder.finish(25)!
    expect(recording.initialLevels).toBe(4)
    expect(rowsOf(recording)).toEqual([
      [10, 5],
      [20, 6],
    ])
    // what came later is the next one's
    recorder.begin(25)
    const next = recorder.finish(100)!
    expect(next.initialLevels).toBe(6)
    expect(rowsOf(next)).toEqual([[30, 2]])
    expect(recorder.finish(100)).toBeUndefined()
  })

  it('takes runs of known changes, up to what is none', () => {
    const recorder = new VideoRecorder({ first: 0, count: 1 })
    recorder.begin(0)
    const last = Uint8Array.of(0, 0, 255)
    const take = (ticks: number[], channels: number[], levels: number[], from = 0): number =>
      recorder.video.take(
        {
          ticks: Float64Array.from(ticks),
          channels: Uint16Array.from(channels),
          levels: Uint8Array.from(levels),
          from,
          to: ticks.length,
          planeBit: Uint16Array.of(1, 2, 4, 0),
          last,
        },
        from,
      )
    expect(take([10, 20, 30], [0, 1, 0], [1, 1, 0])).toBe(3)
    // a level that was not known before, one that is no change, and a channel that is no plane
    expect(take([40, 50], [1, 2], [0, 1])).toBe(1)
    expect(take([60], [1], [0])).toBe(0)
    expect(take([70], [3], [1])).toBe(0)
    expect([...last]).toEqual([0, 0, 255])
    expect(rowsOf(recorder.finish(100)!)).toEqual([
      [10, 1],
      [20, 3],
      [30, 2],
      [40, 0],
    ])
  })

  it('keeps the wanted frames, with what came before the first, and closes with the next', () => {
    const { recorder, recording } = record({ first: 0, count: 2 }, 5)
    expect(recorder.isDone).toBe(false)
    expect(recording.frames.map(({ startTick }) => startTick)).toEqual([500, 1500, 2500])
    expect(recording.firstFrame).toBe(0)
    expect(rowsOf(recording)[0]).toEqual([30, 1])
    expect(rowsOf(recording).at(-1)).toEqual([2460, 0])
    expect(recording.scanlineNumber).toEqual(Array.from({ length: 25 }, (_, n) => n))
  })

  it('lets go of what lies before the first wanted frame, but for sixteen scanlines', () => {
    const { recording } = record({ first: 3, count: 1 }, 6, true)
    expect(recording.firstFrame).toBe(3)
    expect(recording.frames.map(({ startTick }) => startTick)).toEqual([3500, 4500])
    // up to the begin of the frame before it
    expect(rowsOf(recording)[0]).toEqual([2530, 1])
    expect(rowsOf(recording).at(-1)).toEqual([4460, 0])
    expect(recording.initialLevels).toBe(0)
    expect([recording.scanlineNumber[0], recording.scanlineTick[0]]).toEqual([9, 900])
    expect(recording.scanlineNumber.at(-1)).toBe(44)
    const { sync } = recording
    expect(sync!.tick[0]).toBe(2500)
    expect(sync!.levels.slice(0, 2)).toEqual([HSYNC_BIT, 0])
    expect(sync!.initialLevels).toBe(0)
    expect(sync!.tick.at(-1)).toBeLessThan(4500)
  })

  it('gives the segment no scanlines that turned out to come after it', () => {
    const recorder = new VideoRecorder({ first: 0, count: 9 })
    recorder.begin(0)
    for (const line of [0, 1, 2, 3]) recorder.scanline(line, 100 * line)
    expect(recorder.finish(200)!.scanlineTick).toEqual([0, 100, 200])
  })

  it('is done where all wanted frames are there, or enough scanlines without a vsync', () => {
    const recorder = new VideoRecorder({ first: 0, count: 1 })
    expect(recorder.isDone).toBe(false)
    recorder.begin(0)
    recorder.frameStarted(frame(0), 0)
    expect(recorder.isDone).toBe(false)
    recorder.frameStarted(frame(1000), 1)
    expect(recorder.isDone).toBe(true)
    const endless = new VideoRecorder({ first: 0, count: 1 })
    endless.begin(0)
    for (let line = 0; line < 1500; line++) endless.scanline(line, 100 * line)
    expect(endless.isDone).toBe(false)
    endless.scanline(1500, 150_000)
    expect(endless.isDone).toBe(true)
    expect(endless.finish(200_000)!.scanlineNumber).toHaveLength(1500)
  })

  it('knows whether a plane changes near a moment, and how much of the time around it that is', () => {
    const recorder = new VideoRecorder({ first: 0, count: 1 })
    recorder.begin(0)
    for (const tick of [100, 130, 300]) recorder.video.push(tick, 1, tick === 130 ? 0 : 1)
    const near = (tick: number, reach: number): boolean => recorder.video.changesNear(tick, reach)
    expect([near(90, 10), near(89, 10), near(140, 10), near(141, 10), near(310, 10), near(311, 10)]).toEqual([
      true,
      false,
      true,
      false,
      true,
      false,
    ])
    // from 50 to 250: 90 to 110, 120 to 140
    expect(recorder.video.shareNear(150, 10, 100)).toBeCloseTo(40 / 200, 12)
    // 20 ticks on either side overlap: 80 to 150
    expect(recorder.video.shareNear(150, 20, 100)).toBeCloseTo(70 / 200, 12)
    // cut off at both ends of the window: 100 to 105, and 295 to 300
    expect(recorder.video.shareNear(200, 5, 100)).toBeCloseTo((5 + 10 + 5) / 200, 12)
    expect(recorder.video.shareNear(700, 10, 100)).toBe(0)
    // what has been settled is not known any more
    recorder.settle(120)
    expect(recorder.video.shareNear(150, 10, 100)).toBeCloseTo(20 / 130, 12)
    expect(recorder.video.shareNear(100, 10, 100)).toBeNaN()
  })

  it('keeps more rows than it began with room for', () => {
    const recorder = new VideoRecorder({ first: 0, count: 1 })
    recorder.begin(0)
    for (let i = 0; i < 50_000; i++) recorder.video.push(10 * i, 1, (i + 1) & 1)
    const recording = recorder.finish(1e6)!
    expect(recording.rows).toBe(50_000)
    expect(recording.overflowed).toBe(false)
    for (const row of [0, 16_383, 16_384, 40_001, 49_999])
      expect([recording.tick[row], recording.levels[row]]).toEqual([10 * row, (row + 1) & 1])
  })

  it('keeps four million rows, and says where there were more', () => {
    const filled = (rows: number): Recording => {
      const recorder = new VideoRecorder({ first: 0, count: 1 })
      recorder.begin(0)
      for (let i = 0; i < rows; i++) {
        recorder.video.push(i, 1, (i + 1) & 1)
        if (i % 100_000 === 0) recorder.settle(i)
      }
      return recorder.finish(rows)!
    }
    const full = filled(4_000_000)
    expect([full.rows, full.overflowed]).toEqual([4_000_000, false])
    const over = filled(4_000_001)
    expect([over.rows, over.overflowed, over.tick[3_999_999]]).toEqual([4_000_000, true, 3_999_999])
  })

  it('lets the older half go where too many wait for sync, and says so', () => {
    // room doubles from 16 384 rows on; from four million on there is no more
    const room = 2 ** 22
    const waiting = (rows: number): VideoRecorder => {
      const recorder = new VideoRecorder({ first: 0, count: 1 })
      recorder.begin(0)
      for (let i = 0; i < rows; i++) recorder.video.push(i, 1, (i + 1) & 1)
      return recorder
    }
    const full = waiting(room).finish(1000)!
    expect([full.rows, full.overflowed, full.tick[0]]).toEqual([1000, false, 0])
    // of a recording that is done nothing goes
    const done = new VideoRecorder({ first: 0, count: 1 })
    done.begin(0)
    done.video.push(0, 1, 1)
    done.frameStarted(frame(10), 0)
    done.frameStarted(frame(20), 1)
    for (let i = 0; i <= room; i++) done.video.push(30 + i, 1, i & 1)
    expect(done.finish(1000)!.overflowed).toBe(false)
    const recorder = waiting(room + 1)
    const over = recorder.finish(room / 2 + 1000)!
    expect([over.rows, over.overflowed, over.tick[0]]).toEqual([1000, true, room / 2])
    // they may have been the next one's
    recorder.begin(room / 2 + 1000)
    expect(recorder.finish(room)!.overflowed).toBe(true)
  })
})

describe('colourEdgeShare', () => {
  const share = (ticks: number[], reach: number, scanlineTick = [0, 1000]): number =>
    colourEdgeShare(
      { tick: Float64Array.from(ticks), rows: ticks.length, scanlineTick } as unknown as Recording,
      reach,
    )
  it('is the part of the time within reach of a change', () => {
    expect(share([500], 10)).toBeCloseTo(0.02, 12)
    expect(share([100, 500, 900], 10)).toBeCloseTo(0.06, 12)
    // overlapping: 490 to 515
    expect(share([500, 505], 10)).toBeCloseTo(0.025, 12)
    expect(share([100, 300, 500, 700, 900], 300)).toBe(1)
    expect(share([], 10)).toBe(0)
    expect(share([500], 10, [0])).toBe(0)
    expect(share([500], 10, [])).toBe(0)
  })
})

describe('SyncRecorder', () => {
  const filled = (count = 6): SyncRecorder => {
    const recorder = new SyncRecorder()
    recorder.setInitial(VSYNC_BIT)
    recorder.begin(0)
    for (let i = 0; i < count; i++)
      recorder.push(100 * i, i === 3 ? VSYNC_BIT : HSYNC_BIT, i === 3 ? 0 : (i + 1) & 1)
    return recorder
  }

  it('keeps both levels from each edge on', () => {
    const recorder = filled()
    recorder.settle(1000, true)
    expect(recorder.finish()).toEqual({
      initialLevels: VSYNC_BIT,
      tick: [0, 100, 200, 300, 400, 500],
      levels: [3, 2, 3, 1, 1, 0],
    })
    expect(recorder.finish()).toEqual({ initialLevels: 0, tick: [], levels: [] })
  })

  it('keeps what is settled, and begins with what comes after', () => {
    const recorder = filled()
    recorder.settle(200, true)
    expect(recorder.finish().tick).toEqual([0, 100])
    recorder.begin(300)
    recorder.settle(500, true)
    expect(recorder.finish()).toEqual({ initialLevels: 3, tick: [300, 400], levels: [1, 1] })
  })

  it('drops what lies before a tick', () => {
    const recorder = filled()
    recorder.settle(1000, true)
    recorder.dropBefore(0)
    recorder.dropBefore(300)
    expect(recorder.finish()).toEqual({ initialLevels: 3, tick: [300, 400, 500], levels: [1, 1, 0] })
    const one = filled()
    one.settle(1000, true)
    one.dropBefore(1)
    expect(one.finish()).toMatchObject({ initialLevels: 3, tick: [100, 200, 300, 400, 500] })
  })

  it('begins low where nothing says otherwise', () => {
    const recorder = new SyncRecorder()
    recorder.push(100, VSYNC_BIT, 1)
    recorder.settle(1000, true)
    recorder.dropBefore(100)
    expect(recorder.finish()).toEqual({ initialLevels: 0, tick: [100], levels: [VSYNC_BIT] })
  })

  it('keeps a million rows, and lets half as many go where more wait', () => {
    const waiting = (count: number): SyncRecorder => {
      const recorder = new SyncRecorder()
      recorder.begin(0)
      for (let i = 0; i < count; i++) recorder.push(i, HSYNC_BIT, i & 1)
      return recorder
    }
    const kept = (recorder: SyncRecorder): [number, number | undefined] => {
      recorder.settle(Infinity, true)
      const { tick } = recorder.finish()
      return [tick.length, tick[0]]
    }
    expect(kept(waiting(1_000_000))).toEqual([1_000_000, 0])
    expect(kept(waiting(1_000_001))).toEqual([500_001, 500_000])
    // what does not fit is not kept in part
    const twice = waiting(600_000)
    twice.settle(300_000, true)
    for (let i = 0; i < 400_001; i++) twice.push(600_000 + i, HSYNC_BIT, i & 1)
    expect(kept(twice)).toEqual([300_000, 0])
  })

  it('lets go of what nobody wants, many rows at once', () => {
    const recorder = filled(9000)
    recorder.settle(800_000, false)
    recorder.settle(900_000, true)
    expect(recorder.finish().tick).toHaveLength(1000)
    const few = filled(100)
    few.settle(5000, false)
    few.settle(10_000, true)
    // so few may lie about
    expect(few.finish().tick).toHaveLength(100)
  })
})
