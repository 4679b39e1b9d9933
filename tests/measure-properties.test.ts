// What must not change a measurement: when it was taken, which way up a wire is, what else lies on the probes, how the
// bytes arrive, and which format they are written in.

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'

import { CaptureMeasurer, type CaptureMeasurement } from '../src/measure.ts'
import { drawSquareWave } from './support/bystanders.ts'
import { drawCard, measureBytes } from './support/measured-card.ts'
import { sampleSignal, type SampledSignal } from './support/sample-signal.ts'
import { addChannels } from './support/signal.ts'
import { writeCapture, type CaptureForm } from './support/write-capture.ts'

/** Everything measured, as plain data; times of ends left out, which formats mark differently. */
function essence({ segments, channels, sampleIntervalSeconds }: CaptureMeasurement) {
  return {
    sampleIntervalSeconds,
    roles: channels.filter(({ role }) => role !== null),
    segments: segments.map((segment) => {
      const { sync, picture, classification } = segment
      return {
        ...segment,
        endSeconds: null,
        sync: sync.faults.map((fault) => [fault.kind, fault.scanline]),
        classification: { id: classification.standard?.id, confidence: classification.standard?.confidence },
        picture: picture?.area,
        codes: picture && Buffer.from(picture.raster.codes.buffer).toString('base64'),
      }
    }),
  }
}

const { signal } = drawCard('cga80', 'text', {
  frames: 1.3,
  startFrames: 0.9,
  missingHsync: [{ frame: 1, scanline: 77 }],
  skewSeconds: { R: 4e-9 },
})
const samples = sampleSignal(signal, { sampleRateHz: 50e6, phase: 0.3 })
const vcd: CaptureForm = { kind: 'vcd' }
const csv: CaptureForm = { kind: 'csv', rows: 'per-change', time: 'nanoseconds' }
const plain = essence(measureBytes(writeCapture(samples, vcd)))

describe('a measurement', () => {
  it('is one worth comparing', () => {
    expect(plain.segments).toHaveLength(1)
    expect(plain.segments[0]).toMatchObject({
      classification: { id: 'cga-200' },
      wholeFrames: 1,
      faults: { missing: 1 },
    })
    expect(plain.segments[0]!.codes!.length).toBeGreaterThan(100_000)
  })

  it('does not change when all times are shifted', () => {
    const shifted = fc.property(fc.nat({ max: 1e10 }), fc.constantFrom(vcd, csv), (shift, form) => {
      const later: SampledSignal = {
        ...samples,
        sampleIndex: samples.sampleIndex.map((index) => index + shift),
        totalSamples: samples.totalSamples + shift,
      }
      expect(rounded(essence(measureBytes(writeCapture(later, form))))).toEqual(rounded(plain))
    })
    fc.assert(shifted, { numRuns: 6, seed: 1 })
  })

  it('turns only a polarity round when a sync wire is inverted', () => {
    for (const [wire, name] of [
      ['H', 'hsync'],
      ['V', 'vsync'],
    ] as const) {
      const bit = 1 << samples.channels.indexOf(wire)
      const inverted = { ...samples, levelWord: samples.levelWord.map((word) => (word ^ bit) >>> 0) }
      const [found] = essence(measureBytes(writeCapture(inverted, vcd))).segments
      const [was] = plain.segments
      expect(found![name]!.polarity).toBe('negative')
      expect(was![name]!.polarity).toBe('positive')
      // a polarity speaks for or against a standard, but does not name one
      const same = { classification: null, [name]: { ...was![name], polarity: null } }
      expect({ ...found, ...same }).toEqual({ ...was, ...same })
      expect(found!.classification.id).toBe('cga-200')
    }
  })

  it('does not change when another channel is captured', () => {
    const wave = fc.record({
      hertz: fc.integer({ min: 50, max: 3e6 }),
      phase: fc.double({ min: 0.01, max: 0.99, noNaN: true }),
    })
    const added = fc.property(wave, fc.constantFrom(vcd, csv), ({ hertz, phase }, form) => {
      const more = addChannels(signal, drawSquareWave('X7', hertz, signal.durationSeconds, phase))
      const bytes = writeCapture(sampleSignal(more, { sampleRateHz: 50e6, phase: 0.3 }), form)
      expect(essence(measureBytes(bytes))).toEqual(plain)
    })
    fc.assert(added, { numRuns: 6, seed: 2 })
  })

  it('does not change however the bytes are cut', () => {
    const forms: CaptureForm[] = [
      vcd,
      csv,
      { kind: 'csv', rows: 'per-change', time: 'seconds', lineEnd: '\r\n' },
    ]
    const files = forms.map((form) => {
      const bytes = writeCapture(samples, form)
      return { bytes, whole: measureBytes(bytes) }
    })
    const cut = fc.property(
      fc.nat({ max: files.length - 1 }),
      fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 40 }),
      (index, places) => {
        const { bytes, whole } = files[index]!
        const ends = [...places.map((place) => Math.floor(place * bytes.length)), bytes.length].sort(
          (a, b) => a - b,
        )
        const measurer = new CaptureMeasurer()
        let from = 0
        for (const end of ends) {
          measurer.write(bytes.subarray(from, end))
          from = end
        }
        const measurement = measurer.end()
        expect(essence(measurement)).toEqual(essence(whole))
        expect(measurement.notices).toEqual(whole.notices)
        expect(measurement.transitions).toBe(whole.transitions)
      },
    )
    fc.assert(cut, { numRuns: 12, seed: 3 })
  })

  it('is the same from a VCD and a CSV of one signal', () => {
    const forms: CaptureForm[] = [
      csv,
      { kind: 'csv', rows: 'per-change', time: 'seconds' },
      { kind: 'csv', rows: 'per-sample' },
      { kind: 'vcd', timescale: '10 ns', valuesOnTimeLine: true, lineEnd: '\r\n' },
      { kind: 'vcd', timescale: '1 ps', dumpvars: false },
    ]
    for (const form of forms) {
      const found = essence(measureBytes(writeCapture(samples, form)))
      // a grid that is the file's own tick is not told
      const same = { sampleIntervalSeconds: null }
      expect(rounded({ ...found, ...same })).toEqual(rounded({ ...plain, ...same }))
    }
  })
})

/** Numbers to seven digits: the last ones of a division depend on the size of what is divided. */
function rounded(value: object): unknown {
  return JSON.parse(
    JSON.stringify(value, (_, entry: unknown) =>
      typeof entry === 'number' ? Number(entry.toPrecision(7)) : entry,
    ),
  )
}
