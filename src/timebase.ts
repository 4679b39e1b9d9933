// Ticks to seconds and hertz: the only place that divides by a sample rate. Free to all stages.

import type { Measurement } from './measurement.ts'

/** Seconds in one of each unit a file or a user can name. */
export const SECONDS_PER_UNIT: Readonly<Record<'s' | 'ms' | 'us' | 'ns' | 'ps' | 'fs', number>> = {
  s: 1,
  ms: 1e-3,
  us: 1e-6,
  ns: 1e-9,
  ps: 1e-12,
  fs: 1e-15,
}

/** Meaning of a tick, settled once for a whole capture. */
export interface Timebase {
  secondsPerTick: number
}

export function seconds(timebase: Timebase, ticks: Measurement): Measurement {
  return {
    value: ticks.value * timebase.secondsPerTick,
    uncertainty: ticks.uncertainty * timebase.secondsPerTick,
  }
}

/**
 * Rate of something that happens every `periodTicks`; first-order propagation, GUM (JCGM 100:2008) 5.1.2.
 *
 * @param times how many events fall in one period (dots in a scanline); exact
 */
export function hertz(timebase: Timebase, periodTicks: Measurement, times = 1): Measurement {
  const value = times / (periodTicks.value * timebase.secondsPerTick)
  return { value, uncertainty: value * (periodTicks.uncertainty / periodTicks.value) }
}
