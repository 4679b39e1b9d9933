// Which channels behave like hsync and vsync. Sync has unmistakable statistics: hsync never pauses for long and is a
// narrow pulse, during which the picture is blank; vsync is hundreds of times slower and keeps to one place of the
// scanline. Colours cannot be told from each other, and are not tried.

import type { ChannelActivity } from '../transitions/channel-activity.ts'
import { keptPlaces, rareShare, VSYNC_SHARE_MAX, type Rhythm } from './scanline-rhythm.ts'

/** Narrowest and widest share of a scanline that hsync takes: DMT 05h has 4.8 %, CGA graphics 17.5 %. */
const HSYNC_SHARE = { min: 0.015, max: 0.3 }
/** Scanlines in a frame: 2 x the smallest and largest totals of the catalogue, rounded out. */
const SCANLINES = { min: 100, max: 1400 }
const VSYNC_SCANLINES_MAX = 40
const MIN_HSYNC_EDGES = 32
/** Edges that chance would put into sync, from which their absence says something. */
const ENOUGH_EXPECTED = 8
/** Edges during sync, against what chance would put there, up to which a channel is blank in it. */
const BLANK_SHARE = 0.2
/** Share of a channel's edges within the pulse from which the pulse is a gate, such as the select of a serial bus. */
const GATED_SHARE = 0.7
/** Share of the lit time in stretches that hsync does not end, from which a channel is none of the picture's. */
const UNBROKEN_SHARE = 0.05

/** A controller counts vsync in scanlines: one that is no whole number of them is more likely a stranger's. */
const WHOLE = 0.3
const NOT_WHOLE = -1.5

/** How much a channel behaves like hsync by itself, 0 (not at all) to 1. */
export function hsyncLikeness(activity: ChannelActivity): number {
  const share = rareShare(activity)
  if (activity.edges < MIN_HSYNC_EDGES || share < HSYNC_SHARE.min || share > HSYNC_SHARE.max) return 0
  return activity.regularShare
}

/**
 * What other channels say for a pulse being hsync, about -1 to 1.3: a picture is blank during it, and nothing speaks
 * only while it lasts.
 */
export function hsyncSupport(activities: readonly ChannelActivity[], rhythm: Rhythm): number {
  let blank = 0
  let gated = 0
  activities.forEach(({ edges }, channel) => {
    const expected = edges * rhythm.watchedShare
    if (channel === rhythm.channel || expected < ENOUGH_EXPECTED) return
    const seen = rhythm.duringPulse[channel]!
    if (seen > GATED_SHARE * edges) gated++
    else if (seen <= BLANK_SHARE * expected && rhythm.longHighShare[channel]! < UNBROKEN_SHARE) blank++
  })
  return (blank > 0 ? 0.9 + 0.1 * Math.min(4, blank) : 0) - (gated > 0 ? 1 : 0)
}

/**
 * How much a channel behaves like the vsync of a rhythm: below 0 where it contradicts it, from 0.7 on where it is likely,
 * from 1.5 on where hardly anything else could.
 */
export function vsyncLikeness(activity: ChannelActivity, channel: number, rhythm: Rhythm): number {
  const pulses = rhythm.longPulses[channel]
  if (!pulses || rareShare(activity) > VSYNC_SHARE_MAX) return 0
  const count = pulses.widthTicks.length
  // one edge in the whole capture: possible, and no more
  if (count === 0) return activity.edges <= 2 ? 0.2 : 0
  const { periodTicks, toleranceTicks } = rhythm
  const widest = Math.max(...pulses.widthTicks)
  if (widest > VSYNC_SCANLINES_MAX * periodTicks) return 0
  const gaps = pulses.leadTicks.slice(1).map((tick, n) => (tick - pulses.leadTicks[n]!) / periodTicks)
  const fitting = gaps.filter((gap) => gap >= SCANLINES.min && gap <= SCANLINES.max).length
  if (fitting < 0.5 * gaps.length) return 0
  const isWhole = pulses.widthTicks.some((ticks) => {
    const rest = ticks % periodTicks
    return Math.min(rest, periodTicks - rest) <= toleranceTicks
  })
  const chances = Math.max(0, pulses.leadPhases.length - 1) + Math.max(0, pulses.trailPhases.length - 1)
  const met = keptPlaces(pulses.leadPhases, rhythm) + keptPlaces(pulses.trailPhases, rhythm)
  const locked = chances === 0 ? 0 : (2 * met) / chances - 1
  const paced = gaps.length === 0 ? 0.4 : 0.5 + (0.5 * fitting) / gaps.length
  return paced + locked + (isWhole ? WHOLE : NOT_WHOLE)
}

/**
 * Whether a channel could be a wire of the picture: blank in sync, and never lit past it.
 *
 * @returns false for what changes during sync as often as chance has it, or stays high over many scanlines
 */
export function couldBePicture(activity: ChannelActivity, channel: number, rhythm: Rhythm): boolean {
  const expected = rhythm.watchedShare * activity.edges
  if (activity.edges === 0 || rhythm.duringPulse[channel]! > BLANK_SHARE * expected) return false
  return rhythm.longHighShare[channel]! < UNBROKEN_SHARE
}
