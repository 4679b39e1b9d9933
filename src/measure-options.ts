// What may be asked of a measurement, and what it tells on the way.

import type { TimeUnit } from './capture/capture-header.ts'
import type { Connector, RoleAssignment } from './capture/channel-roles.ts'
import type { WantedFrames } from './dots/video-recorder.ts'
import type { FaultKind } from './sync/sync-fault.ts'
import type { ClipRequest } from './transitions/waveform-clips.ts'

/** What the user may say about a capture. All optional. */
export interface MeasureOptions {
  /** Roles by hand; they win over names and behaviour. */
  map?: readonly RoleAssignment[] | undefined
  /** Connector whose pin numbers the probes are named after. */
  connector?: Connector | undefined
  timeUnit?: TimeUnit | undefined
  /** Sample rate in hertz. */
  sampleRateHz?: number | undefined
  /** Which frames of each segment to keep for drawing; the first two without it. */
  frames?: WantedFrames | undefined
  /**
   * Told every pulse of hsync or csync as it is judged, nearly in order of time: of one scanline the false ones come first.
   * Pulses of vsync follow when their segment ends, for only then is it known how long a frame usually is.
   */
  onPulse?: ((pulse: JudgedPulse) => void) | undefined
  /** Keep what those frames were measured from, sync edges included, in the longest segment's `signal`. */
  keepSignal?: boolean | undefined
  /** Look no further than the frames that are wanted: see `CaptureMeasurer.hasEnough`. */
  quick?: boolean | undefined
  /** Cut out the waveforms around sync faults, all channels, wherever in the capture they are. */
  clips?: ClipRequest | undefined
}

/** One sync pulse, true or false. */
export interface JudgedPulse {
  kind: 'true' | FaultKind
  channel: 'hsync' | 'vsync' | 'csync'
  /** From the capture's first time mark. */
  timeSeconds: number
  /** Counted from the first scanline of the capture. */
  scanline: number
  /**
   * Leading edge minus where those of the other scanlines, or frames, have it; NaN where nothing tells. Of a false pulse
   * of vsync since the true one before.
   */
  offsetSeconds: number
  /** NaN where the pulse is missing. */
  widthSeconds: number
}
