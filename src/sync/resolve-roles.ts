// Names and behaviour together → the roles that are used. Names are believed unless the signal plainly says otherwise;
// what the user mapped is believed always.

import type { Channel } from '../capture/capture-header.ts'
import type { NamedRoles } from '../capture/channel-roles.ts'
import type { Role } from '../capture/role.ts'
import { SignalError } from '../errors.ts'
import type { NoticeList } from '../notices.ts'
import type { ChannelActivity } from '../transitions/channel-activity.ts'
import { edgesWhile } from '../transitions/edges-while.ts'
import type { TransitionStore } from '../transitions/transition-store.ts'
import { findSyncByBehaviour, hsyncLikeness, vsyncLikeness } from './sync-by-behaviour.ts'

/** Roles as they will be used. */
export interface ResolvedRoles {
  roles: (Role | null)[]
  /** Channel that gives scanlines: hsync, or csync. */
  scanlineChannel: number
  /** Channel that gives frames, null without one or with a composite sync. */
  vsyncChannel: number | null
  composite: boolean
  /** False where only its own behaviour, and no vsync beside it, speaks for the scanline channel. */
  proven: boolean
  /** Channels without a role that stand for the picture, because nothing named does. */
  unnamedVideo: number[]
}

/** Likeness from which behaviour counts as proof. */
const CLEAR = 0.6
/** Likeness of a pair of channels that can only be hsync and vsync. */
const PROVEN = 0.9
/** Edges during sync, against what chance would put there, from which a channel is none of the picture's. */
const FOREIGN_SHARE = 0.2
/** Most unnamed channels taken as picture. */
const MAX_UNNAMED_VIDEO = 8
const VIDEO_ROLES: ReadonlySet<Role> = new Set([
  'red',
  'green',
  'blue',
  'intensity',
  'secondary-red',
  'secondary-green',
  'secondary-blue',
  'video',
])

export function isVideoRole(role: Role | null): boolean {
  return role !== null && VIDEO_ROLES.has(role)
}

/**
 * @param store the transitions that `activities` were taken from
 * @throws {SignalError} SYNC_NOT_FOUND where nothing behaves like a scanline sync
 */
export function resolveRoles(
  channels: readonly Channel[],
  named: NamedRoles,
  activities: readonly ChannelActivity[],
  store: TransitionStore,
  notices: NoticeList,
): ResolvedRoles {
  const roles = [...named.roles]
  const nameOf = (channel: number): string => channels[channel]!.name
  const likeH = (channel: number): number => (channel < 0 ? 0 : hsyncLikeness(activities[channel]!))
  const move = (role: Role, to: number): void => {
    const from = roles.indexOf(role)
    if (from >= 0) roles[from] = null
    roles[to] = role
  }

  let hsync = roles.indexOf('hsync')
  let vsync = roles.indexOf('vsync')
  const csync = roles.indexOf('csync')
  const fixed = (channel: number): boolean => channel >= 0 && named.fixed[channel]!

  if (
    hsync >= 0 &&
    vsync >= 0 &&
    !fixed(hsync) &&
    !fixed(vsync) &&
    likeH(hsync) < CLEAR &&
    likeH(vsync) >= CLEAR
  ) {
    ;[hsync, vsync] = [vsync, hsync]
    roles[hsync] = 'hsync'
    roles[vsync] = 'vsync'
    notices.add(
      'CHANNEL_NAMES_SWAPPED',
      () =>
        `the channel named "${nameOf(hsync)}" carries hsync and "${nameOf(vsync)}" vsync: names are swapped`,
    )
  }
  if (!fixed(hsync) && likeH(hsync) < CLEAR) {
    const unnamed = findSyncByBehaviour(activities, (channel) => roles[channel] === null && channel !== csync)
    const any =
      unnamed.hsync === null && csync < 0 && hsync < 0
        ? findSyncByBehaviour(activities, (c) => !fixed(c))
        : unnamed
    if (any.hsync !== null) {
      const before = hsync
      hsync = any.hsync
      move('hsync', hsync)
      if (before >= 0) {
        notices.add(
          'CHANNEL_NAME_DOUBTED',
          () => `"${nameOf(before)}" does not behave like hsync; "${nameOf(hsync)}" does and is used`,
        )
      } else if (csync < 0 || likeH(csync) < CLEAR) {
        notices.add(
          'CHANNEL_FOUND_BY_BEHAVIOUR',
          () => `"${nameOf(hsync)}" behaves like hsync and is taken for it`,
        )
      }
      if (vsync < 0 && any.vsync !== null) vsync = takeVsync(any.vsync)
    }
  }
  const period = hsync >= 0 ? activities[hsync]!.periodTicks : NaN
  const likeV = (channel: number): number => vsyncLikeness(activities[channel]!, period)
  if (hsync >= 0 && !fixed(vsync) && (vsync < 0 || (activities[vsync]!.edges > 0 && likeV(vsync) === 0))) {
    const found = bestVsync((channel) => roles[channel] === null)
    if (found >= 0 && likeV(found) > 0.4) {
      const before = vsync
      vsync = takeVsync(found)
      if (before >= 0) {
        notices.add(
          'CHANNEL_NAME_DOUBTED',
          () => `"${nameOf(before)}" does not behave like vsync; "${nameOf(vsync)}" does and is used`,
        )
      }
    }
  }

  function takeVsync(channel: number): number {
    move('vsync', channel)
    notices.add(
      'CHANNEL_FOUND_BY_BEHAVIOUR',
      () => `"${nameOf(channel)}" behaves like vsync and is taken for it`,
    )
    return channel
  }
  function bestVsync(free: (channel: number) => boolean): number {
    let best = -1
    activities.forEach((_, channel) => {
      if (free(channel) && (best < 0 || likeV(channel) > likeV(best))) best = channel
    })
    return best
  }

  const scanlineChannel = hsync >= 0 && activities[hsync]!.edges > 0 ? hsync : csync
  if (scanlineChannel < 0 || activities[scanlineChannel]!.edges === 0) {
    throw new SignalError(
      'SYNC_NOT_FOUND',
      'no channel of this capture behaves like hsync',
      {},
      {
        hint:
          hsync >= 0
            ? `"${nameOf(hsync)}" never changes: check the probe, the threshold and that the card is running`
            : 'probe hsync (pin 8 of the 9-pin connector), or name the channel with --map hsync=NAME',
      },
    )
  }
  // one wire that is wide now and then: both syncs on it
  const composite = scanlineChannel === csync || (vsync < 0 && looksComposite(activities[scanlineChannel]!))
  if (composite) {
    notices.add('SYNC_COMPOSITE', () => `"${nameOf(scanlineChannel)}" carries both syncs; they are separated`)
  }
  const isNamed = named.roles[scanlineChannel] === 'hsync' || named.roles[scanlineChannel] === 'csync'
  return {
    roles,
    scanlineChannel,
    proven: isNamed || (likeH(scanlineChannel) > PROVEN && vsync >= 0 && likeV(vsync) > PROVEN),
    vsyncChannel: vsync >= 0 && !composite ? vsync : null,
    composite,
    unnamedVideo: unnamedVideo(channels, roles, activities, store, scanlineChannel),
  }
}

/** Regular, yet not nearly all of the time: the pulses of vsync break the rhythm. */
function looksComposite(activity: ChannelActivity): boolean {
  return activity.widestPulseTicks > 0.4 * activity.periodTicks
}

function unnamedVideo(
  channels: readonly Channel[],
  roles: readonly (Role | null)[],
  activities: readonly ChannelActivity[],
  store: TransitionStore,
  scanlineChannel: number,
): number[] {
  if (roles.some(isVideoRole)) return []
  const sync = activities[scanlineChannel]!
  const level = sync.highShare > 0.5 ? 0 : 1
  // edges in the first quarter of sync may be those of the last dot, late
  const duringSync = edgesWhile(store, channels.length, scanlineChannel, level, sync.pulseTicks / 4)
  const share = (0.75 * sync.pulseTicks) / sync.periodTicks
  const list: number[] = []
  roles.forEach((role, channel) => {
    // a wide bus is a counter or an address, not a picture
    if ((channels[channel]!.bus?.widthBits ?? 1) > MAX_UNNAMED_VIDEO) return
    const { edges } = activities[channel]!
    if (role !== null || edges === 0 || list.length === MAX_UNNAMED_VIDEO) return
    if (duringSync[channel]! > FOREIGN_SHARE * share * edges) return
    list.push(channel)
  })
  return list
}
