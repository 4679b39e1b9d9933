import { gunzipSync } from 'node:zlib'
import { expect, it } from 'vitest'

import type { SampledSignal } from './sample-signal.ts'
import type { CaptureForm } from './write-capture.ts'
import { writeCapture } from './write-capture.ts'

// 24 MS/s: samples lie 41.667 ns apart
const samples: SampledSignal = {
  channels: ['H', 'p[1]', 'p[0]'],
  sampleRateHz: 24e6,
  totalSamples: 8,
  sampleIndex: Float64Array.of(0, 1, 4, 5),
  levelWord: Uint32Array.of(0b000, 0b011, 0b111, 0b100),
}

const text = (form: CaptureForm): string => new TextDecoder().decode(writeCapture(samples, form))
const body = (form: CaptureForm): string => text(form).split('$enddefinitions $end\n')[1]!

it('writes a VCD with a text line for each time and each value, times rounded to the timescale', () => {
  expect(text({ kind: 'vcd' })).toBe(
    [
      '$comment drawn for a test $end',
      '$timescale 1 ns $end',
      '$scope module card $end',
      '$var wire 1 ! H $end',
      '$var wire 1 " p[1] $end',
      '$var wire 1 # p[0] $end',
      '$upscope $end',
      '$enddefinitions $end',
      '#0\n$dumpvars\n0!\n0"\n0#\n$end',
      '#42\n1!\n1"',
      '#167\n1#',
      '#208\n0!\n0"',
      '#333',
      '',
    ].join('\n'),
  )
})

it('writes VCD times in any timescale, and values on the time’s text line', () => {
  const times = (timescale: string): string[] => body({ kind: 'vcd', timescale }).match(/#\d+/g)!.slice(1)
  expect(times('1 ps')).toEqual(['#41667', '#166667', '#208333', '#333333'])
  expect(times('10 ns')).toEqual(['#4', '#17', '#21', '#33'])
  expect(times('10us')).toEqual(['#0', '#0', '#0', '#0'])
  expect(body({ kind: 'vcd', valuesOnTimeLine: true, dumpvars: false, endMark: false })).toBe(
    '#0 0! 0" 0#\n#42 1! 1"\n#167 1#\n#208 0! 0"\n',
  )
  expect(() => text({ kind: 'vcd', timescale: '1 day' })).toThrow('no timescale')
})

it('writes VCD buses as vectors', () => {
  const vectors = text({ kind: 'vcd', vectors: true })
  expect(vectors).toContain('$var wire 2 " p [1:0] $end\n')
  expect(vectors.split('$end\n').at(-1)).toBe('#42\n1!\nb10 "\n#167\nb11 "\n#208\n0!\nb01 "\n#333\n')
})

it('writes CSV rows for changes with seconds, nanoseconds, false seconds, or truncated steps', () => {
  const rows = (form: Partial<CaptureForm & { kind: 'csv' }>): string =>
    text({ kind: 'csv', rows: 'per-change', ...form })
  expect(rows({})).toBe(
    'Time [s],H,p[1],p[0]\n0.000000000,0,0,0\n0.000000042,1,1,0\n0.000000167,1,1,1\n0.000000208,0,0,1\n0.000000292,0,0,1\n',
  )
  expect(rows({ time: 'nanoseconds', endRow: false, delimiter: ';', lineEnd: '\r\n' })).toBe(
    'Time (ns);H;p[1];p[0]\r\n0;0;0;0\r\n42;1;1;0\r\n167;1;1;1\r\n208;0;0;1\r\n',
  )
  expect(rows({ time: 'false-seconds', endRow: false }).split('\n')[3]).toBe('167,1,1,1')
  expect(rows({ time: 'false-seconds' })).toMatch(/^Time \[s\]/)
  expect(rows({ time: 'truncated', commentMark: ';' })).toBe(
    '; sample rate: 24000000 Hz\nTime (ns),H,p[1],p[0]\n0,0,0,0\n41,1,1,0\n164,1,1,1\n205,0,0,1\n287,0,0,1\n',
  )
  expect(rows({ time: 'sample', rateComment: false, header: false }).split('\n')[1]).toBe('1,1,1,0')
})

it('writes CSV rows for samples with and without a time column', () => {
  const levels = ['0,0,0', '1,1,0', '1,1,0', '1,1,0', '1,1,1', '0,0,1', '0,0,1', '0,0,1']
  expect(text({ kind: 'csv', rows: 'per-sample' })).toBe(
    ['# sample rate: 24000000 Hz', 'H,p[1],p[0]', ...levels, ''].join('\n'),
  )
  const timed = text({ kind: 'csv', rows: 'per-sample', time: 'seconds', comments: ['probe A'] }).split('\n')
  expect(timed.slice(0, 2)).toEqual(['# probe A', 'Time [s],H,p[1],p[0]'])
  expect(timed[9]).toBe('0.000000292,0,0,1')
  expect(timed.length).toBe(11)
})

it('packs what it writes', () => {
  const packed = writeCapture(samples, { kind: 'csv', rows: 'per-sample', gzip: true })
  expect(Array.from(packed.subarray(0, 2))).toEqual([0x1f, 0x8b])
  expect(new TextDecoder().decode(gunzipSync(packed))).toBe(text({ kind: 'csv', rows: 'per-sample' }))
})

it('writes numbers of many digits and names beyond ASCII', () => {
  const late: SampledSignal = {
    channels: ['µ-sync of the second probe'],
    sampleRateHz: 1e9,
    totalSamples: 5e9,
    sampleIndex: Float64Array.of(0, 4_000_000_007),
    levelWord: Uint32Array.of(0, 1),
  }
  const csv = new TextDecoder().decode(writeCapture(late, { kind: 'csv', rows: 'per-change', endRow: false }))
  expect(csv).toBe('Time [s],µ-sync of the second probe\n0.000000000,0\n4.000000007,1\n')
})
