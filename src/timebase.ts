// Ticks to seconds and hertz: the only place that divides by a sample rate. Free to all stages.

import type { Measurement } from './measurement.ts'

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
