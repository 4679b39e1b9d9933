// All requests for defects together: checked against the card, asked scanline by scanline, and what came of them.

import type { DefectKind } from './choices.ts'
import {
  DefectChooser,
  type DefectPlace,
  type DefectRequest,
  type DefectSites,
  type InjectedDefect,
} from './defects.ts'
import { impossible } from './impossible.ts'
import { seededRandom } from './random.ts'
import { channelNamed, type SignalChannel } from './signal-channels.ts'

type RequestOf<Kind extends DefectKind> = Extract<DefectRequest, { kind: Kind }>

/** A request that strikes, and the place as it was asked for. */
interface Strike<Kind extends DefectKind> {
  request: RequestOf<Kind>
  place: DefectPlace
}

/** Decides where defects strike; serves one walk through the capture. */
export class DefectPlan {
  readonly injected: InjectedDefect[] = []
  readonly #requests: readonly DefectRequest[]
  readonly #choosers: readonly DefectChooser[]

  /** @throws {CaptureError} SYNTHESIS_IMPOSSIBLE for a request that cannot be met */
  constructor(
    requests: readonly DefectRequest[],
    channels: readonly SignalChannel[],
    sites: DefectSites,
    scanlineSeconds: number,
    seed: number,
  ) {
    const taken = new Set<number>()
    this.#requests = requests.map((request) => checked(request, channels, scanlineSeconds))
    this.#choosers = this.#requests.map(
      (request, i) => new DefectChooser(request, sites, taken, seededRandom(seed, `defect ${i}`)),
    )
  }

  /**
   * To be asked once for every place, in time order.
   * @param channel name of the channel that the place is on; null asks for all
   * @param site number of the scanline or vsync within the capture
   */
  struck<Kind extends DefectKind>(
    kind: Kind,
    channel: string | null,
    site: number,
    { frame, scanline }: DefectPlace,
    applies: (request: RequestOf<Kind>) => boolean = () => true,
  ): Strike<Kind>[] {
    return this.#requests.flatMap((request, i) => {
      if (!isOf(request, kind) || !applies(request)) return []
      if (channel !== null && 'channel' in request && request.channel !== channel) return []
      const place = this.#choosers[i]!.strikes(site, frame, scanline)
      return place ? [{ request, place }] : []
    })
  }
}

function isOf<Kind extends DefectKind>(request: DefectRequest, kind: Kind): request is RequestOf<Kind> {
  return request.kind === kind
}

/** The request with its channel named as the capture names it. */
function checked(
  request: DefectRequest,
  channels: readonly SignalChannel[],
  scanlineSeconds: number,
): DefectRequest {
  if (request.kind === 'dropped-scanline') return request
  const { name, role } = channels[channelNamed(channels, request.channel)]!
  if (request.kind !== 'spike' && !role.endsWith('sync')) {
    throw impossible(
      `${request.kind} is for sync channels, ${name} is none`,
      'give a sync channel, or ask for a spike',
    )
  }
  if (request.kind === 'missing') return { ...request, channel: name }
  const { widthSeconds } = request
  const delaySeconds = request.kind === 'ringing' ? request.delaySeconds : 0
  if (!(widthSeconds > 0 && delaySeconds >= 0 && delaySeconds + widthSeconds < scanlineSeconds / 2)) {
    throw impossible(
      `${request.kind} of ${(widthSeconds * 1e9).toFixed(0)} ns does not fit`,
      `give a width above 0 that ends, with its delay, within half a scanline: ${(scanlineSeconds * 5e8).toFixed(0)} ns`,
    )
  }
  return { ...request, channel: name }
}
