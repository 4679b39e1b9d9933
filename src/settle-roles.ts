// The first part of a capture → its sample grid, what its channels do, and which roles they have. Beside measure.ts, because
// it takes the header, names, edges and behaviour together, and may have to be asked again when more has been read.

import type { CaptureHeader } from './capture/capture-header.ts'
import { rolesFromNames, type Connector, type RoleAssignment } from './capture/channel-roles.ts'
import { SignalError } from './errors.ts'
import { NoticeList } from './notices.ts'
import { sampleGridOf } from './settle-sample-grid.ts'
import { couldBeScanline } from './settle-timebase.ts'
import { PictureWithoutSyncError, picturePeriod } from './sync/picture-period.ts'
import { resolveRoles, type ResolvedRoles } from './sync/resolve-roles.ts'
import { channelActivity, type ChannelActivity } from './transitions/channel-activity.ts'
import type { SampleGrid } from './transitions/sample-grid.ts'
import type { TransitionStore } from './transitions/transition-store.ts'

/** Bits of the widest bus that may be a colour's, or those of all three. */
const WIDEST_VIDEO_BUS = 8

/** What the first part of a capture shows. */
export interface SettledRoles {
  grid: SampleGrid
  activities: readonly ChannelActivity[]
  roles: ResolvedRoles
  /** Whether more of the capture could still show a vsync. */
  lacksVsync: boolean
  /** What is to be told when these roles are used. */
  notices: NoticeList
}

/**
 * @param names the user's words on names
 * @throws {CaptureError} SYNC_NOT_FOUND where nothing behaves like a scanline sync
 */
export function settleRoles(
  header: CaptureHeader,
  store: TransitionStore,
  names: { connector?: Connector | undefined; map?: readonly RoleAssignment[] | undefined },
): SettledRoles {
  const { channels } = header
  const notices = new NoticeList()
  const grid = sampleGridOf(header, store)
  const activities = channelActivity(store, channels.length, grid.intervalTicks)
  const named = rolesFromNames(channels, notices, names.connector, names.map)
  const gridTicks = grid.intervalTicks
  const isPlausible = (ticks: number): boolean => couldBeScanline(header, ticks)
  const roles = sayingPicturePeriod(header, store, gridTicks, () =>
    resolveRoles({ channels, named, activities, store, gridTicks, isPlausible }, notices),
  )
  return { grid, activities, roles, lacksVsync: !roles.composite && roles.vsyncChannel === null, notices }
}

/** Where no sync is found, what the edges of the picture say instead, if they say anything. */
function sayingPicturePeriod<T>(
  { channels, secondsPerTick }: CaptureHeader,
  store: TransitionStore,
  sampleTicks: number,
  resolve: () => T,
): T {
  try {
    return resolve()
  } catch (error) {
    if (!(error instanceof SignalError) || error.code !== 'SYNC_NOT_FOUND' || secondsPerTick === null)
      throw error
    // a wide bus is a counter or an address, not a picture
    const picture = channels.flatMap(({ bus }, channel) =>
      (bus?.widthBits ?? 1) > WIDEST_VIDEO_BUS ? [] : [channel],
    )
    const period = picturePeriod(store, new Set(picture), secondsPerTick, sampleTicks * secondsPerTick)
    throw period ? new PictureWithoutSyncError(period, error.hint) : error
  }
}
