// All channels weighed as hsync with each other channel as its vsync, names counted as one witness among several → the
// pair that fits best, and what came close.

import type { Role } from '../capture/role.ts'
import type { ChannelActivity } from '../transitions/channel-activity.ts'
import type { TransitionStore } from '../transitions/transition-store.ts'
import { pictureEdges, silenceIn } from './picture-silence.ts'
import { scanlineRhythm, type Rhythm } from './scanline-rhythm.ts'
import { hsyncLikeness, hsyncSupport, vsyncLikeness } from './sync-by-behaviour.ts'

/** A channel taken for hsync (or a composite sync), with the best vsync for it. */
export interface SyncPair {
  rhythm: Rhythm
  /** Likeness, support by other channels, and name together. */
  hsyncScore: number
  /** -1 without one. */
  vsync: number
  /** As `vsyncLikeness`, without the name; 0 without one. */
  vsyncLikeness: number
  /** A channel that fits nearly as well as vsync, -1 without. */
  rivalVsync: number
  score: number
}

/** What is searched, and what names say. */
export interface SearchedCapture {
  activities: readonly ChannelActivity[]
  store: TransitionStore
  /** Sample interval in ticks. */
  gridTicks: number
  roles: readonly (Role | null)[]
  /** Channels whose roles are the user's word. */
  fixed: readonly boolean[]
  /** Whether a period in ticks may be a scanline's; true where nothing states the time. */
  isPlausible: (periodTicks: number) => boolean
}

/** Candidates for hsync that are looked at together with all others; more have never been met. */
const MAX_CANDIDATES = 6
const MIN_LIKENESS = 0.5
/** Likeness from which a channel without the name is taken for vsync. */
const TAKEN = 0.35
/** A name is worth as much as a vsync that fits; one that says something else counts against it. */
const NAMED = 1
const OTHERWISE_NAMED = -0.3
/** What a beat with gaps loses against the one without: more than a name is worth. */
const GAPPY = 2
const SURELY_FEWER = 0.8
const SURELY_STEADY = 0.85
const SAME_PERIOD = 0.01
/** A rate that no video has outweighs all that speaks for it, as long as there is another. */
const IMPLAUSIBLE = 3
/** Scores closer than this cannot be told apart. */
const CLOSE = 0.3

/** Pairs in falling order of score; empty where no channel could be hsync. */
export function searchSync(capture: SearchedCapture): SyncPair[] {
  const pairs = candidates(capture).map((channel) => pairFor(capture, channel))
  const isGappy = pairs.map((pair) => pairs.some((other) => hasGapsAgainst(capture.activities, pair, other)))
  pairs.forEach((pair, n) => {
    if (isGappy[n]!) pair.score -= GAPPY
  })
  return pairs.sort((a, b) => b.score - a.score)
}

/** Whether one beats like another but leaves many beats out: a picture that is lit at one place of some scanlines. */
function hasGapsAgainst(activities: readonly ChannelActivity[], pair: SyncPair, other: SyncPair): boolean {
  const [own, full] = [activities[pair.rhythm.channel]!, activities[other.rhythm.channel]!]
  return (
    Math.abs(own.periodTicks / full.periodTicks - 1) < SAME_PERIOD &&
    own.edges < SURELY_FEWER * full.edges &&
    hsyncLikeness(full) >= SURELY_STEADY
  )
}

/**
 * The pair of a given hsync.
 * @param only the channels that may be its vsync; nothing is known of the others then
 */
export function pairFor(capture: SearchedCapture, hsync: number, only?: readonly number[]): SyncPair {
  const { activities, store, gridTicks, roles, isPlausible } = capture
  const rhythm = scanlineRhythm(store, activities, hsync, gridTicks, only)
  const likeness = hsyncLikeness(activities[hsync]!)
  const hsyncScore =
    likeness +
    hsyncSupport(activities, rhythm) +
    (isPlausible(rhythm.periodTicks) ? 0 : -IMPLAUSIBLE) +
    // a name that its channel belies is worth little
    nameScore(roles[hsync]!, ['hsync', 'csync']) * (likeness < MIN_LIKENESS ? 0.3 : 1)
  const pair: SyncPair = {
    rhythm,
    hsyncScore,
    vsync: -1,
    vsyncLikeness: 0,
    rivalVsync: -1,
    score: hsyncScore,
  }
  if (roles[hsync] === 'csync') return pair
  const scores = vsyncScores(capture, hsync, rhythm)
  const best = scores[0]
  if (!best) return pair
  const rival = scores[1]
  return {
    ...pair,
    vsync: best.channel,
    vsyncLikeness: best.likeness,
    rivalVsync: rival && best.score - rival.score < CLOSE && rival.likeness >= TAKEN ? rival.channel : -1,
    score: hsyncScore + Math.max(0, best.score),
  }
}

/** Channels that could be vsync, in falling order of score; where there are several, the picture is a witness. */
function vsyncScores(
  { activities, roles, fixed, store }: SearchedCapture,
  hsync: number,
  rhythm: Rhythm,
): { channel: number; likeness: number; score: number }[] {
  const own = roles.findIndex((role, channel) => role === 'vsync' && fixed[channel]!)
  const list = activities
    .map((activity, channel) => ({ channel, likeness: vsyncLikeness(activity, channel, rhythm) }))
    .filter(({ channel }) => channel !== hsync && (own >= 0 ? channel === own : !fixed[channel]!))
    .map(({ channel, likeness }) => ({
      channel,
      likeness,
      score:
        likeness + (likeness > 0 || roles[channel] !== 'vsync' ? nameScore(roles[channel]!, ['vsync']) : 0),
    }))
    .filter(({ channel, score }) => channel === own || score >= TAKEN)
  if (list.length > 1) {
    const edges = pictureEdges(store, activities, rhythm)
    const ticks = store.tick[store.count - 1]! - store.tick[0]!
    for (const one of list) one.score += silenceIn(edges, ticks, rhythm, one.channel)
  }
  return list.sort((a, b) => b.score - a.score)
}

function nameScore(role: Role | null, wanted: readonly Role[]): number {
  return role === null ? 0 : wanted.includes(role) ? NAMED : OTHERWISE_NAMED
}

/** Channels that could be hsync: the user's word alone, or what behaves like it and what is called so. */
function candidates({ activities, roles, fixed }: SearchedCapture): number[] {
  for (const role of ['hsync', 'csync'] as const) {
    const own = roles.findIndex((other, channel) => other === role && fixed[channel]!)
    if (own >= 0) return activities[own]!.edges > 0 ? [own] : []
  }
  const likeness = activities.map(hsyncLikeness)
  const isNamed = (channel: number): boolean => roles[channel] === 'hsync' || roles[channel] === 'csync'
  return likeness
    .map((_, channel) => channel)
    .filter(
      (channel) =>
        !fixed[channel]! &&
        (likeness[channel]! >= MIN_LIKENESS || (isNamed(channel) && activities[channel]!.edges > 0)),
    )
    .sort((a, b) => Number(isNamed(b)) - Number(isNamed(a)) || likeness[b]! - likeness[a]!)
    .slice(0, MAX_CANDIDATES)
}

/** Whether two pairs with different hsyncs fit about as well. */
export function areClose(best: SyncPair, other: SyncPair | undefined): boolean {
  return other !== undefined && best.score - other.score < CLOSE
}
