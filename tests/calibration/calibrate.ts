import { CaptureMeasurer } from '../../src/measure.ts'
import { judgeCapture } from './quantities.ts'
import { randomCapture } from './random-capture.ts'
import { CalibrationTally } from './tally.ts'
import { writeFileSync } from 'node:fs'

export function calibrate(captures: number, seed: number): { text: string; isHeld: boolean } {
  const tally = new CalibrationTally()
  const wander = process.env.WANDER === '1'
  const out: unknown[] = []
  for (let n = 0; n < captures; n++) {
    const capture = randomCapture(seed * 1_000_000 + n, { wander })
    try {
      const measurer = new CaptureMeasurer()
      measurer.write(capture.bytes)
      const m = measurer.end()
      const j = judgeCapture(capture, m)
      tally.add(j.measured, j.counted)
      const { bytes: _b, ...rest } = capture
      const T = (capture.timing.h.total / capture.dotClockHz) * capture.sampleRateHz
      out.push({
        n,
        ...rest,
        timing: capture.timing.name,
        T,
        scanlines: m.main.scanlines,
        frames2: m.main.wholeFrames,
        j,
        segs: m.segments.length,
        notices: m.notices.map((x) => x.code),
        faults: m.main.faults,
        id: m.main.classification.standard?.id,
      })
    } catch (e) {
      out.push({
        n,
        error: String(e),
        timing: capture.timing.name,
        form: capture.form,
        rate: capture.sampleRateHz,
      })
    }
  }
  writeFileSync(process.env.RAW ?? '/tmp/calib-raw.json', JSON.stringify(out))
  const rows = tally
    .rows()
    .map(
      (r) =>
        `${r.quantity.padEnd(24)} ${String(r.count).padStart(5)} ${(100 * r.within1).toFixed(1).padStart(6)} ${(100 * r.within2).toFixed(1).padStart(6)} ${(100 * r.within3).toFixed(2).padStart(6)} rms ${r.rms.toFixed(2)} ${r.isHeld ? '' : '<'}`,
    )
  const counts = tally.counts().map((r) => `${r.quantity.padEnd(32)} ${r.right} ${r.wrong}`)
  return { text: [...rows, ...counts].join('\n'), isHeld: true }
}
