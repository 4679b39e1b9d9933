import { describe, expect, it } from 'vitest'
import { catchEdges, pulsesOf, type CatchRule, type SyncPulse } from '../../src/adapter/caught-sync.ts'
import { HSYNC_BIT, VSYNC_BIT } from '../../src/dots/sync-recorder.ts'

/** Scanlines of 1000 ticks with pulses of 100; a clock of 1 tick. */
const clean: SyncPulse[] = [0, 1000, 2000].map((leadTick) => ({ leadTick, trailTick: leadTick + 100 }))
const rule: CatchRule = { count: 'edges', filterTicks: 0, holdOffTicks: 0, clockTicks: 1 }
const filtered: CatchRule = { count: 'filtered', filterTicks: 12, holdOffTicks: 750, clockTicks: 1 }

function withSpike(leadTick: number, width: number): SyncPulse[] {
  return [...clean, { leadTick, trailTick: leadTick + width }].sort((a, b) => a.leadTick - b.leadTick)
}

function ticksOf(pulses: readonly SyncPulse[], by: CatchRule): number[] {
  return catchEdges(pulses, by).map(({ tick }) => tick)
}

describe('edges caught', () => {
  it('are all of them where every edge counts', () => {
    expect(ticksOf(clean, rule)).toEqual([0, 1000, 2000])
    expect(ticksOf(withSpike(1110, 5), rule)).toEqual([0, 1000, 1110, 2000])
  })

  it.each([
    { name: 'short', leadTick: 1900, width: 11 },
    { name: 'within the hold-off', leadTick: 1110, width: 100 },
  ])('are the true ones where a false pulse is $name', ({ leadTick, width }) => {
    expect(ticksOf(withSpike(leadTick, width), filtered)).toEqual([0, 1000, 2000])
  })

  it('are false ones too, and cost true ones, where a long pulse comes after the hold-off', () => {
    expect(ticksOf(withSpike(1760, 12), filtered)).toEqual([0, 1000, 1760])
  })

  it('lie on the clock that follows, and pulses between two clocks are not seen', () => {
    const pulses = [
      { leadTick: 30, trailTick: 130 },
      { leadTick: 1030, trailTick: 1059 },
      { leadTick: 2040, trailTick: 2140 },
    ]
    expect(catchEdges(pulses, { ...rule, clockTicks: 20 })).toEqual([
      { pulse: 0, tick: 40 },
      { pulse: 1, tick: 1040 },
      { pulse: 2, tick: 2040 },
    ])
    expect(ticksOf([{ leadTick: 1041, trailTick: 1060 }], { ...rule, clockTicks: 20 })).toEqual([])
  })
})

describe('pulses of a channel', () => {
  const sync = {
    initialLevels: HSYNC_BIT | VSYNC_BIT,
    tick: [5, 20, 25, 40, 60],
    levels: [VSYNC_BIT, VSYNC_BIT | HSYNC_BIT, HSYNC_BIT, 0, HSYNC_BIT],
  }

  it('come by polarity, and the one that was on at the begin has no leading edge', () => {
    expect(pulsesOf(sync, HSYNC_BIT, 'positive')).toEqual([
      { leadTick: 20, trailTick: 40 },
      { leadTick: 60, trailTick: Infinity },
    ])
    expect(pulsesOf(sync, HSYNC_BIT, 'negative')).toEqual([
      { leadTick: 5, trailTick: 20 },
      { leadTick: 40, trailTick: 60 },
    ])
    expect(pulsesOf(sync, VSYNC_BIT, 'negative')).toEqual([{ leadTick: 25, trailTick: Infinity }])
  })
})
