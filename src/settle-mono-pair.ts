// Two channels without names beside syncs at the rates of a monochrome card → video and intensity. Beside measure.ts, because
// it takes what channels do, the meaning of a tick and the catalogue together.

import type { Channel } from './capture/capture-header.ts'
import { LEVEL_UNKNOWN, NO_LEVEL } from './capture/transition-batch.ts'
import { STANDARDS } from './classify/standards.ts'
import { fieldRateHz, scanlineRateHz } from './classify/standard.ts'
import type { NoticeList } from './notices.ts'
import type { ResolvedRoles } from './sync/resolve-roles.ts'
import type { ChannelActivity } from './transitions/channel-activity.ts'
import type { TransitionStore } from './transitions/transition-store.ts'

/** The median gap between edges is good to a sample in a scanline: 0.3 % at 12 MS/s; other rates are 10 % away. */
const SAME_RATE = 0.03
/** Share of its lit time for which the intensity may be seen without the video: edges that come apart in sampling. */
const ALONE_SHARE = 0.05

/**
 * Gives the roles of the mono pair where the rates are those of mono rows of the catalogue alone, and one of exactly two
 * channels is never lit without the other. `found` is changed in place.
 */
export function nameMonoPair(
  found: ResolvedRoles,
  channels: readonly Channel[],
  activities: readonly ChannelActivity[],
  store: TransitionStore,
  secondsPerTick: number,
  notices: NoticeList,
): void {
  const [one, two, more] = found.unnamedVideo
  if (one === undefined || two === undefined || more !== undefined) return
  if (!areRatesMono(found, activities, secondsPerTick)) return
  const alone = litAlone(store, channels.length, one, two)
  const [oneAlone, twoAlone] = alone.map((share) => share > ALONE_SHARE)
  // both by chance, or both always together: which is which cannot be told
  if (oneAlone === twoAlone) return
  const [video, intensity] = oneAlone ? [one, two] : [two, one]
  found.roles[video] = 'video'
  found.roles[intensity] = 'intensity'
  found.unnamedVideo = []
  notices.add(
    'MONO_PAIR_FOUND',
    () =>
      `the rates are a monochrome card's: "${channels[video]!.name}" is taken for video and ` +
      `"${channels[intensity]!.name}", which is never lit without it, for intensity`,
  )
}

function areRatesMono(
  { scanlineChannel, vsyncChannel }: ResolvedRoles,
  activities: readonly ChannelActivity[],
  secondsPerTick: number,
): boolean {
  const hertz = (channel: number): number => 1 / (activities[channel]!.periodTicks * secondsPerTick)
  const agrees = (measured: number, row: number): boolean => Math.abs(measured / row - 1) < SAME_RATE
  const frame = vsyncChannel === null ? NaN : hertz(vsyncChannel)
  const rows = STANDARDS.filter(
    (row) =>
      [row.dotClockHz, ...row.dotClockVariantsHz].some((clock) =>
        agrees(hertz(scanlineChannel), scanlineRateHz(row, clock)),
      ) &&
      (Number.isNaN(frame) || agrees(frame, fieldRateHz(row))),
  )
  return rows.length > 0 && rows.every((row) => row.colour === 'mono')
}

/** Share of each channel's lit time in which the other is dark; 0 for one that is never lit. */
function litAlone(store: TransitionStore, channelCount: number, one: number, two: number): [number, number] {
  const level = new Uint8Array(channelCount).fill(NO_LEVEL)
  const lit: [number, number] = [0, 0]
  const alone: [number, number] = [0, 0]
  const pair = [one, two] as const
  let since = NaN
  for (let row = 0; row < store.count; row++) {
    const channel = store.channel[row]!
    if (channel !== one && channel !== two) continue
    const width = store.tick[row]! - since
    for (const side of [0, 1] as const) {
      if (!(width > 0) || level[pair[side]] !== 1) continue
      lit[side] += width
      if (level[pair[1 - side]!] === 0) alone[side] += width
    }
    since = store.tick[row]!
    if (store.level[row]! < LEVEL_UNKNOWN) level[channel] = store.level[row]!
  }
  return [lit[0] > 0 ? alone[0] / lit[0] : 0, lit[1] > 0 ? alone[1] / lit[1] : 0]
}
