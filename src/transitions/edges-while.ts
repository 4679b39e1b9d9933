// How often channels change while another channel is at one level: a picture is blank during sync, and whatever else lies
// on the probes knows nothing of it.

import { LEVEL_UNKNOWN } from '../capture/transition-batch.ts'
import type { TransitionStore } from './transition-store.ts'

const NO_LEVEL = 255

/**
 * @param gate channel that is waited for
 * @param gateLevel its level while which edges count
 * @param guardTicks edges this soon after the gate's own edge do not count: they may belong to the time before
 * @returns edges by channel
 */
export function edgesWhile(
  store: TransitionStore,
  channelCount: number,
  gate: number,
  gateLevel: 0 | 1,
  guardTicks: number,
): Float64Array {
  const counts = new Float64Array(channelCount)
  const last = new Uint8Array(channelCount).fill(NO_LEVEL)
  let from = Infinity
  for (let row = 0; row < store.count; row++) {
    const channel = store.channel[row]!
    const level = store.level[row]!
    if (level >= LEVEL_UNKNOWN || level === last[channel]) continue
    const isEdge = last[channel] !== NO_LEVEL
    last[channel] = level
    if (channel === gate) from = level === gateLevel ? store.tick[row]! + guardTicks : Infinity
    else if (isEdge && store.tick[row]! >= from) counts[channel]!++
  }
  return counts
}
