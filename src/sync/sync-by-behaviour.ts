// Which channels behave like hsync and vsync. Sync has unmistakable statistics: hsync never pauses for long and is a
// narrow pulse; vsync is hundreds of times slower. Colours cannot be told from each other, and are not tried.

import type { ChannelActivity } from '../transitions/channel-activity.ts'

/** Channel numbers that behave like sync; null where none does. */
export interface SyncByBehaviour {
  hsync: number | null
  vsync: number | null
}

/** Narrowest and widest share of a scanline that hsync takes: DMT 05h has 4.8 %, CGA graphics 17.5 %. */
const HSYNC_SHARE = { min: 0.015, max: 0.3 }
/** Scanlines in a frame: 2 x the smallest and largest totals of the catalogue, rounded out. */
const SCANLINES = { min: 100, max: 1400 }
/** Share of a frame that vsync takes: 16 of 262 scanlines is 6.1 %. */
const VSYNC_SHARE_MAX = 0.16
const MIN_HSYNC_EDGES = 32

function rareShare(activity: ChannelActivity): number {
  return Math.min(activity.highShare, 1 - activity.highShare)
}

/** How much a channel behaves like hsync, 0 (not at all) to 1. */
export function hsyncLikeness(activity: ChannelActivity): number {
  const share = rareShare(activity)
  if (activity.edges < MIN_HSYNC_EDGES || share < HSYNC_SHARE.min || share > HSYNC_SHARE.max) return 0
  return activity.regularShare
}

/** How much a channel behaves like the vsync that belongs to an hsync of the given period, 0 to 1. */
export function vsyncLikeness(activity: ChannelActivity, hsyncPeriodTicks: number): number {
  const share = rareShare(activity)
  if (activity.edges < 1 || share > VSYNC_SHARE_MAX) return 0
  const pulse = activity.pulseTicks / hsyncPeriodTicks
  if (pulse < 0.7 || pulse > 40) return 0
  const scanlines = activity.periodTicks / hsyncPeriodTicks
  // one pulse, or one edge, in the whole capture: possible, not proven
  if (Number.isNaN(scanlines)) return activity.edges <= 4 ? 0.4 : 0
  if (scanlines < SCANLINES.min || scanlines > SCANLINES.max) return 0
  return 0.5 + 0.5 * activity.regularShare
}

/**
 * Picks the pair that behaves most like hsync and vsync together.
 *
 * @param free channels that may be picked
 */
export function findSyncByBehaviour(
  activities: readonly ChannelActivity[],
  free: (channel: number) => boolean,
): SyncByBehaviour {
  let best: SyncByBehaviour & { score: number } = { hsync: null, vsync: null, score: 0 }
  activities.forEach((hsync, h) => {
    const likeness = free(h) ? hsyncLikeness(hsync) : 0
    if (likeness < 0.5) return
    let vsync: number | null = null
    let companion = 0
    activities.forEach((candidate, v) => {
      if (v === h || !free(v)) return
      const score = vsyncLikeness(candidate, hsync.periodTicks)
      if (score > companion) {
        companion = score
        vsync = v
      }
    })
    const score = likeness + companion
    if (score > best.score) best = { hsync: h, vsync, score }
  })
  return { hsync: best.hsync, vsync: best.vsync }
}
