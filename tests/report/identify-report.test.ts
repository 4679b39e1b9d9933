// The report as data and as text, from a measurement of a drawn signal.

import { beforeAll, describe, expect, it } from 'vitest'
import { measureCapture, type CaptureMeasurement } from '../../src/measure.ts'
import { identifyReport } from '../../src/report/identify-report.ts'
import { identifySchema } from '../../src/report/identify-schema.ts'
import { identifyText } from '../../src/report/identify-text.ts'
import { NO_INK } from '../../src/report/ink.ts'
import { drawSignal } from '../support/draw-signal.ts'
import { drawPicture } from '../support/pictures.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import { joinSignals } from '../support/signal.ts'
import { smallCapture } from '../support/small-captures.ts'
import { TIMINGS } from '../support/timings.ts'
import { writeVcd } from '../support/write-vcd.ts'

/** Every key of an object and of what is in it, as `a.b`. */
function keysOf(value: unknown, path = ''): string[] {
  if (Array.isArray(value)) return value.slice(0, 1).flatMap((item) => keysOf(item, path))
  if (value === null || typeof value !== 'object') return []
  return Object.entries(value).flatMap(([key, inner]) => [path + key, ...keysOf(inner, `${path}${key}.`)])
}

/** Names that scripts rely on, typed from the contract. */
const SEGMENT = `
  startSeconds endSeconds wholeFrames
  hsync hsync.frequencyHz hsync.frequencyHz.value hsync.frequencyHz.uncertainty
  hsync.polarity hsync.widthSeconds hsync.widthSeconds.value hsync.widthSeconds.uncertainty
  vsync vsync.frequencyHz vsync.polarity vsync.widthSeconds vsync.widthScanlines
  raster raster.scanlinesPerFrame raster.interlaced raster.dotsPerScanline
  raster.dotClockHz raster.dotClockFrom
  active active.dots active.scanlines active.from active.hBackPorchDots
  active.hFrontPorchDots active.vBackPorchScanlines active.vFrontPorchScanlines
  standard standard.id standard.name standard.confidence alternatives
  family family.id family.name family.confidence familyConfidence noneConfidence missing
  faults faults.extra faults.missing faults.short faults.early faults.late faults.width
`
const CAPTURE = `
  format capture segments main
  capture.file capture.kind capture.durationSeconds capture.sampleIntervalSeconds capture.transitions
  capture.channels capture.channels.name capture.channels.role
  capture.notices capture.notices.code capture.notices.message capture.notices.count
`
const words = (text: string): string[] => text.trim().split(/\s+/)
const CONTRACT = [...words(CAPTURE), ...words(SEGMENT).flatMap((key) => [`segments.${key}`, `main.${key}`])]

let measurement: CaptureMeasurement
/** Two modes one after the other. */
let twoModes: CaptureMeasurement

beforeAll(async () => {
  // unnamed colours give a notice
  const rename = { R: 'D3', G: 'D2', B: 'D1', I: 'D0' }
  measurement = await measureCapture([smallCapture('cga80', { picture: 'rectangle', rename })])
  const parts = (['cga80', 'vga480'] as const).map((key) =>
    drawSignal(TIMINGS[key], drawPicture('rectangle', TIMINGS[key]), {
      frames: key === 'cga80' ? 3.2 : 2.2,
      rename: { R1: 'R', G1: 'G', B1: 'B' },
      omit: key === 'vga480' ? ['R0', 'G0', 'B0'] : [],
      ...(key === 'cga80' ? { rename: {} } : {}),
    }),
  )
  const samples = sampleSignal(joinSignals(parts), { sampleRateHz: 24e6, phase: 0.3 })
  twoModes = await measureCapture([writeVcd(samples)])
})

describe('identifyReport', () => {
  it('has every name of the contract, and only what its schema knows', () => {
    const report = identifyReport(measurement, 'capture.vcd')
    expect(keysOf(report)).toEqual(expect.arrayContaining(CONTRACT))
    // zod drops what it does not know
    expect(identifySchema.parse(report)).toEqual(report)
  })

  it('survives JSON', () => {
    const report = identifyReport(measurement, '-')
    expect(identifySchema.parse(JSON.parse(JSON.stringify(report)))).toEqual(report)
  })

  it('says null for what was not captured', async () => {
    const noVsync = await measureCapture([
      smallCapture('cga80', { omit: ['V'], frames: 0.5, picture: 'dark' }),
    ])
    const report = identifySchema.parse(identifyReport(noVsync, 'x'))
    expect(report.main.vsync).toBeNull()
    expect(report.main.raster.scanlinesPerFrame).toBeNull()
  })

  it('says null for the vertical place of a picture where no vsync tells where its frame begins', async () => {
    const noVsync = await measureCapture([smallCapture('mda', { omit: ['V'] })])
    const { active } = identifySchema.parse(identifyReport(noVsync, 'x')).main
    expect(active).toMatchObject({ scanlines: 350, vBackPorchScanlines: null, vFrontPorchScanlines: null })
    expect(active!.hBackPorchDots).toBe(TIMINGS.mda.h.backPorch)
    expect(identifyText(noVsync, 'x', NO_INK)).toMatch(/^vertical porches +not measured/m)
  })

  it('repeats the longest segment as main', () => {
    const report = identifySchema.parse(identifyReport(twoModes, 'x'))
    expect(report.segments.map(({ standard }) => standard?.id)).toEqual(['cga-200', 'vga-480-60'])
    expect(report.main).toEqual(report.segments[0])
  })
})

describe('identifyText', () => {
  it('lists the segments where there are several, within 80 columns', () => {
    const text = identifyText(twoModes, 'capture.vcd', NO_INK)
    expect(text).toMatch(/^ \*0 .* cga-200$/m)
    expect(text).toMatch(/^ {2}1 .* vga-480-60$/m)
    expect(text.split('\n').filter((line) => line.length > 80)).toEqual([])
  })

  it('shows control and direction characters of channel and file names as escapes', async () => {
    const rename = { R: 'R\u202e', G: '\u001b[31mG', B: 'B\u009b2J', I: 'I\u200b' }
    const named = await measureCapture([smallCapture('cga80', { picture: 'rectangle', rename })])
    // the reader may have refused some of them; the report must not rely on it
    const channels = named.channels.map((channel, n) => ({
      ...channel,
      name: `${channel.name}\u001b\u2067${n}`,
    }))
    const notices = [
      { code: 'COLOUR_UNNAMED' as const, message: 'a "\u001b]0;x\u0007" b', firstAtByte: null, count: 2 },
    ]
    const text = identifyText({ ...named, channels, notices }, 'a\u202eb\u0007.vcd', NO_INK)
    expect(text.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u)
    expect(text).toContain('\\u{1b}')
    expect(text).toContain('a\\u{202e}b\\u{7}.vcd')
  })

  it('keeps to 80 columns where every number is at its longest', () => {
    const segment = measurement.main
    const { classification } = segment
    const standard = classification.standard!
    const inverted = ['hsync polarity', 'vsync polarity'].map((quantity) => {
      return { quantity, measured: 'negative', nominal: 'positive', unit: '', inTolerances: 2 }
    })
    const long = {
      ...segment,
      classification: { ...classification, standard: { ...standard, differences: inverted } },
      hsync: {
        ...segment.hsync,
        polarity: 'negative' as const,
        widthSeconds: { value: 11.1745451e-6, uncertainty: 9.9e-10 },
      },
      vsync: segment.vsync && { ...segment.vsync, polarity: 'negative' as const, widthScanlines: 16.37 },
      active: segment.active && { ...segment.active, from: 'standard' as const, hBackPorchDots: 1112 },
      raster: { ...segment.raster, dotClockFrom: 'standard' as const },
    }
    const text = identifyText({ ...measurement, segments: [long], main: long }, 'capture.vcd', NO_INK)
    expect(text).toContain('inverted')
    expect(text.split('\n').filter((line) => line.length > 80)).toEqual([])
  })
})
