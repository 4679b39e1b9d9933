// Names and behaviour together → the roles that are used. Names are believed unless the signal plainly says otherwise;
// what the user mapped is believed always.

import type { Channel } from '../capture/capture-header.ts'
import type { NamedRoles } from '../capture/channel-roles.ts'
import type { Role } from '../capture/role.ts'
import { SignalError } from '../errors.ts'
import type { NoticeList } from '../notices.ts'
import type { ChannelActivity } from '../transitions/channel-activity.ts'
import type { TransitionStore } from '../transitions/transition-store.ts'
import { rareShare, VSYNC_SHARE_MAX, type Rhythm } from './scanline-rhythm.ts'
import { couldBePicture, hsyncLikeness } from './sync-by-behaviour.ts'
import { areClose, pairFor, searchSync, type SearchedCapture, type SyncPair } from './sync-search.ts'

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

/** Likeness from which a name needs no other witness. */
const CLEAR = 0.6
/** Likeness from which a channel may be hsync with no witness at all: a composite sync has no less. */
const STEADY = 0.85
/** Likeness of a vsync from which its pair can hardly be anything else. */
const PROVEN = 1.5
/** Support of other channels from which an hsync is borne out. */
const SUPPORTED = 1.5
/** Edges from which a channel that is blank in sync is a picture. */
const PICTURE_EDGES = 32
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

/** What roles are found from. */
export interface RoleEvidence {
  channels: readonly Channel[]
  named: NamedRoles
  activities: readonly ChannelActivity[]
  /** The transitions that `activities` were taken from. */
  store: TransitionStore
  /** Sample interval in ticks. */
  gridTicks: number
  /** Whether a period in ticks may be a scanline's; true where nothing states the time. */
  isPlausible: (periodTicks: number) => boolean
}

/** @throws {SignalError} SYNC_NOT_FOUND where nothing behaves like a scanline sync */
export function resolveRoles(evidence: RoleEvidence, notices: NoticeList): ResolvedRoles {
  const { channels, named, activities } = evidence
  const capture: SearchedCapture = { ...evidence, roles: named.roles, fixed: named.fixed }
  const pairs = pairsOf(capture)
  const pair = pairs[0]
  if (!pair || isMereBeat(pair, evidence)) throw noSync(evidence)
  const { rhythm } = pair
  const scanline = rhythm.channel
  const isCsync = named.roles[scanline] === 'csync'
  const { roles, vsync } = assign(evidence, pair, notices)
  tellRivals(evidence, pairs, notices)
  // one wire that is wide now and then: both syncs on it
  const composite = isCsync || (vsync < 0 && looksComposite(activities[scanline]!))
  if (composite) {
    notices.add(
      'SYNC_COMPOSITE',
      () => `"${channels[scanline]!.name}" carries both syncs; they are separated`,
    )
  }
  const isNamed = named.roles[scanline] === 'hsync' || isCsync
  return {
    roles,
    scanlineChannel: scanline,
    proven: isNamed || pair.vsyncLikeness >= PROVEN,
    vsyncChannel: vsync >= 0 && !composite ? vsync : null,
    composite,
    unnamedVideo: unnamedVideo(evidence, roles, rhythm),
  }
}

/** The named pair alone where nothing speaks against it: a look at every other channel costs as much each. */
function pairsOf(capture: SearchedCapture): SyncPair[] {
  const hsync = capture.roles.indexOf('hsync')
  const vsync = capture.roles.indexOf('vsync')
  if (hsync >= 0 && vsync >= 0 && hsyncLikeness(capture.activities[hsync]!) >= CLEAR) {
    // names of a picture leave nothing else to be asked
    const pair = pairFor(capture, hsync, capture.roles.some(isVideoRole) ? [vsync] : undefined)
    if (pair.vsync === vsync && pair.vsyncLikeness >= CLEAR) return [pair]
  }
  return searchSync(capture)
}

/** Whether a beat that is not even steady has neither a name nor a vsync: any busy bus has wires that are as regular. */
function isMereBeat({ rhythm, vsync }: SyncPair, { named, activities }: RoleEvidence): boolean {
  const { channel } = rhythm
  const isNamed = named.roles[channel] === 'hsync' || named.roles[channel] === 'csync'
  return !isNamed && vsync < 0 && hsyncLikeness(activities[channel]!) < STEADY
}

/** Gives the pair its roles, and tells where these are not the names'. */
function assign(
  { channels, named, activities }: RoleEvidence,
  pair: SyncPair,
  notices: NoticeList,
): { roles: (Role | null)[]; vsync: number } {
  const { rhythm } = pair
  const nameOf = (channel: number): string => `"${channels[channel]!.name}"`
  const before = { hsync: named.roles.indexOf('hsync'), vsync: named.roles.indexOf('vsync') }
  const isCsync = named.roles[rhythm.channel] === 'csync'
  const now = { hsync: isCsync ? before.hsync : rhythm.channel, vsync: pair.vsync }
  // nothing better was found: a vsync in trouble is still one, a colour or a clock under its name is not
  const keepsVsync =
    before.vsync >= 0 &&
    before.vsync !== now.hsync &&
    (named.fixed[before.vsync]! || !contradictsVsync(activities[before.vsync]!, before.vsync, rhythm))
  if (now.vsync < 0 && keepsVsync) now.vsync = before.vsync
  const roles = [...named.roles]
  const found: string[] = []
  const doubted: string[] = []
  if (now.hsync !== before.hsync || now.vsync !== before.vsync) {
    for (const channel of Object.values(before)) if (channel >= 0) roles[channel] = null
  }
  if (now.hsync >= 0 && now.hsync === before.vsync && now.vsync === before.hsync) {
    notices.add(
      'CHANNEL_NAMES_SWAPPED',
      () =>
        `the channel named ${nameOf(now.hsync)} carries hsync and ${nameOf(now.vsync)} vsync: names are swapped`,
    )
  } else {
    for (const role of ['hsync', 'vsync'] as const) {
      const [from, to] = [before[role], now[role]]
      if (to === from) continue
      if (from >= 0 && to >= 0) {
        doubted.push(`${nameOf(from)} does not behave like ${role}; ${nameOf(to)} does and is used`)
      } else if (from >= 0) {
        doubted.push(`${nameOf(from)} does not behave like ${role}, and no other channel does`)
      } else found.push(`${nameOf(to)} behaves like ${role} and is taken for it`)
      // two labels on each other's wires: the one that is left over carries what the other's name says
      const other = to >= 0 ? named.roles[to]! : null
      if (from >= 0 && isVideoRole(other) && couldBePicture(activities[from]!, from, rhythm)) {
        roles[from] = other
        doubted.push(`${nameOf(from)} is taken for ${other}: the two labels may be exchanged`)
      }
    }
  }
  if (now.hsync >= 0) roles[now.hsync] = 'hsync'
  if (now.vsync >= 0) roles[now.vsync] = 'vsync'
  if (doubted.length > 0) notices.add('CHANNEL_NAME_DOUBTED', () => doubted.join('; '), null, doubted.length)
  if (found.length > 0) {
    if (pair.vsync < 0 && pair.hsyncScore < SUPPORTED) {
      found.push('nothing but its regularity speaks for it')
    }
    notices.add('CHANNEL_FOUND_BY_BEHAVIOUR', () => found.join('; '), null, found.length)
  }
  return { roles, vsync: now.vsync }
}

/** Whether a channel is surely something other than a vsync in trouble. */
function contradictsVsync(activity: ChannelActivity, channel: number, rhythm: Rhythm): boolean {
  if (activity.edges > PICTURE_EDGES && couldBePicture(activity, channel, rhythm)) return true
  // a mode with the other polarity after the first leaves neither level rare, but its edges keep their places
  return rareShare(activity) > VSYNC_SHARE_MAX && rhythm.kept[channel]! < 0
}

/** Says where another channel would have fitted about as well. */
function tellRivals({ channels }: RoleEvidence, pairs: readonly SyncPair[], notices: NoticeList): void {
  const [best, other] = pairs
  const list: string[] = []
  const nameOf = (channel: number): string => `"${channels[channel]!.name}"`
  if (areClose(best!, other)) {
    const [one, two] = [best!.rhythm.channel, other!.rhythm.channel]
    list.push(`${nameOf(two)} behaves like hsync as much as ${nameOf(one)}, which is used`)
  }
  if (best!.rivalVsync >= 0) {
    list.push(
      `${nameOf(best!.rivalVsync)} behaves like vsync as much as ${nameOf(best!.vsync)}, which is used`,
    )
  }
  if (list.length === 0) return
  notices.add(
    'CHANNEL_AMBIGUOUS',
    () => `${list.join('; ')}; if that is wrong, say so with --map hsync=NAME,vsync=NAME`,
    null,
    list.length,
  )
}

function noSync({ channels, named }: RoleEvidence): SignalError {
  const hsync = named.roles.indexOf('hsync')
  return new SignalError(
    'SYNC_NOT_FOUND',
    'no channel of this capture behaves like hsync',
    {},
    {
      hint:
        hsync >= 0
          ? `"${channels[hsync]!.name}" never changes: check the probe, the threshold and that the card is running`
          : 'probe hsync (pin 8 of the 9-pin connector), or name the channel with --map hsync=NAME',
    },
  )
}

/** Regular, yet not nearly all of the time: the pulses of vsync break the rhythm. */
function looksComposite(activity: ChannelActivity): boolean {
  return activity.widestPulseTicks > 0.4 * activity.periodTicks
}

function unnamedVideo(
  { channels, activities }: RoleEvidence,
  roles: readonly (Role | null)[],
  rhythm: Rhythm,
): number[] {
  if (roles.some(isVideoRole)) return []
  const list: number[] = []
  roles.forEach((role, channel) => {
    // a wide bus is a counter or an address, not a picture
    if ((channels[channel]!.bus?.widthBits ?? 1) > MAX_UNNAMED_VIDEO) return
    if (role !== null || list.length === MAX_UNNAMED_VIDEO) return
    if (couldBePicture(activities[channel]!, channel, rhythm)) list.push(channel)
  })
  return list
}
