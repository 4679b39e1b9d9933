// How quiet the picture is while a channel's long pulses last: nothing is drawn during vsync, and something nearly always is
// during the pulses of a stranger.

import type { ChannelActivity } from '../transitions/channel-activity.ts'
import { firstAfter } from '../transitions/rising-ticks.ts'
import type { TransitionStore } from '../transitions/transition-store.ts'
import type { Rhythm } from './scanline-rhythm.ts'
import { couldBePicture } from './sync-by-behaviour.ts'

/** Edges by chance from which their absence, or presence, says something. */
const ENOUGH_EXPECTED = 8
const QUIET_SHARE = 0.05
/** Edges of a channel from which it counts as picture here. */
const MIN_EDGES = 64

/** Times of all changes of what could be picture, in ticks, rising. */
export function pictureEdges(
  store: TransitionStore,
  activities: readonly ChannelActivity[],
  rhythm: Rhythm,
): Float64Array {
  const isPicture = activities.map(
    (activity, channel) =>
      channel !== rhythm.channel && activity.edges >= MIN_EDGES && couldBePicture(activity, channel, rhythm),
  )
  const { tick, channel, count } = store
  let edges = 0
  for (let row = 0; row < count; row++) if (isPicture[channel[row]!]) edges++
  const ticks = new Float64Array(edges)
  edges = 0
  for (let row = 0; row < count; row++) if (isPicture[channel[row]!]) ticks[edges++] = tick[row]!
  return ticks
}

/**
 * @param edges as `pictureEdges` gives them
 * @param totalTicks time over which they were collected
 * @returns 0.5 where the picture is quiet in a channel's long pulses, -1 where it is not, 0 where chance may have it
 */
export function silenceIn(edges: Float64Array, totalTicks: number, rhythm: Rhythm, channel: number): number {
  const pulses = rhythm.longPulses[channel]
  if (!pulses) return 0
  let seen = 0
  let ticks = 0
  pulses.leadTicks.forEach((from, n) => {
    const to = from + pulses.widthTicks[n]!
    seen += firstAfter(to, edges) - firstAfter(from, edges)
    ticks += to - from
  })
  const expected = (edges.length * ticks) / totalTicks
  if (!(expected >= ENOUGH_EXPECTED)) return 0
  return seen <= QUIET_SHARE * expected ? 0.5 : -1
}
