// What identify says of a random capture, each quantity beside its true value.

import type { Measurement } from '../../src/measurement.ts'
import type { CaptureMeasurement } from '../../src/measure.ts'
import type { RandomCapture } from './random-capture.ts'

/** A value with its uncertainty, and what it ought to be. */
export interface Judged extends Measurement {
  quantity: string
  truth: number
}

/** A count without uncertainty: right or wrong. */
export interface Counted {
  quantity: string
  isRight: boolean
}

export interface JudgedCapture {
  measured: Judged[]
  counted: Counted[]
}

export function judgeCapture(capture: RandomCapture, measurement: CaptureMeasurement): JudgedCapture {
  const { timing, dotClockHz, sampleRateHz } = capture
  const { hsync, vsync, raster, active } = measurement.main
  const measured: Judged[] = []
  const counted: Counted[] = []
  const judge = (quantity: string, found: Measurement | null | undefined, truth: number): void => {
    if (found) measured.push({ quantity, ...found, truth })
  }
  const count = (quantity: string, found: number | null | undefined, truth: number): void => {
    if (found !== null && found !== undefined) counted.push({ quantity, isRight: found === truth })
  }
  const scanlineHz = dotClockHz / timing.h.total
  judge('scanline rate', hsync.frequencyHz, scanlineHz)
  judge('frame rate', vsync?.frequencyHz, scanlineHz / timing.v.total)
  judge('hsync width', hsync.widthSeconds, timing.h.sync / dotClockHz)
  judge('vsync width', vsync?.widthSeconds, timing.v.sync / scanlineHz)
  const isMeasured = raster.dotClockFrom === 'measured'
  // an assumed dot clock is the rate times an assumed count: that is right or wrong
  judge('dot clock', isMeasured ? raster.dotClockHz : null, dotClockHz)
  const { sampleIntervalSeconds: interval, sampleIntervalUncertaintySeconds: doubt } = measurement
  if (interval !== null && doubt !== null) {
    if (doubt > 0) judge('sample interval', { value: interval, uncertainty: doubt }, 1 / sampleRateHz)
    else
      counted.push({
        quantity: 'sample interval, exact',
        isRight: Math.abs(interval * sampleRateHz - 1) < 1e-9,
      })
  } else counted.push({ quantity: 'sample interval, found', isRight: false })
  const fields = timing.interlaced ? 2 : 1
  count('scanlines per frame', raster.scanlinesPerFrame, timing.v.total * fields)
  count(
    isMeasured ? 'dots per scanline' : 'dots per scanline (assumed)',
    raster.dotsPerScanline,
    timing.h.total,
  )
  const from = active?.from === 'measured' ? '' : ' (assumed)'
  count(`active dots${from}`, active?.dots, timing.h.active)
  count(`active scanlines${from}`, active?.scanlines, timing.v.active * fields)
  count(`horizontal porches${from}`, active?.hBackPorchDots, timing.h.backPorch)
  count(`horizontal porches${from}`, active?.hFrontPorchDots, timing.h.frontPorch)
  count(`vertical porches${from}`, active?.vBackPorchScanlines, timing.v.backPorch)
  count(`vertical porches${from}`, active?.vFrontPorchScanlines, timing.v.frontPorch)
  return { measured, counted }
}
