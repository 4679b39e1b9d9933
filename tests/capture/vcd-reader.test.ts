import { describe, expect, it, test } from 'vitest'
import { BATCH_ROWS, type TransitionBatch } from '../../src/capture/transition-batch.ts'
import { VcdReader } from '../../src/capture/vcd-reader.ts'
import { NoticeList } from '../../src/notices.ts'
import { bytesOf, collect, headerOf } from './vcd-collect.ts'

describe("the user's word on time", () => {
  const text =
    '$comment at 24 MHz $end $timescale 1 ns $end $var wire 1 ! a $end $enddefinitions $end #0 1!\n'
  test.each([
    [{}, { secondsPerTick: 1e-9, timebaseFrom: 'timescale', statedRateHz: 24e6, sampleIntervalTicks: null }],
    [
      { timeUnit: 'us' },
      { secondsPerTick: 1e-6, timebaseFrom: 'option', statedRateHz: 24e6, sampleIntervalTicks: null },
    ],
    [
      { sampleRateHz: 50e6 },
      { secondsPerTick: 1e-9, timebaseFrom: 'timescale', statedRateHz: 50e6, sampleIntervalTicks: null },
    ],
    [
      { timeUnit: 'samples', sampleRateHz: 50e6 },
      { secondsPerTick: 1 / 50e6, timebaseFrom: 'option', statedRateHz: 50e6, sampleIntervalTicks: 1 },
    ],
    [
      { timeUnit: 'samples' },
      { secondsPerTick: 1 / 24e6, timebaseFrom: 'option', statedRateHz: 24e6, sampleIntervalTicks: 1 },
    ],
  ] as const)('%j', (options, expected) => {
    expect(collect(text, options).header).toMatchObject(expected)
  })

  it('makes a time scale that cannot be read, or is missing, harmless', () => {
    const unreadable = collect('$timescale soon $end $var wire 1 ! a $end $enddefinitions $end #0 1!\n', {
      timeUnit: 'ns',
    })
    expect(unreadable).toMatchObject({ error: undefined, header: { secondsPerTick: 1e-9 } })
    expect(unreadable.notices).toMatchObject([{ code: 'VCD_TIMESCALE_NOT_STANDARD' }])
    expect(collect('$var wire 1 ! a $end $enddefinitions $end #0 1!\n', { timeUnit: 'ns' }).notices).toEqual(
      [],
    )
  })

  it('leaves the tick unknown when it is a sample of unknown rate', () => {
    const { header } = collect(headerOf('a') + '#0 1!\n', { timeUnit: 'samples' })
    expect(header).toMatchObject({ secondsPerTick: null, timebaseFrom: 'option' })
  })
})

interface Pass {
  rows: [number, number, number][]
  counts: number[]
}

/** Reads with a selection made in `onHeader`, or after `selectAtByte` bytes. */
function readSelected(text: string, wanted: number[], selectAtByte?: number): Pass {
  const pass: Pass = { rows: [], counts: [] }
  const batches = new Set<TransitionBatch>()
  const reader: VcdReader = new VcdReader({
    notices: new NoticeList(),
    onHeader: () => {
      if (selectAtByte === undefined) reader.select(Uint8Array.from(wanted))
    },
    sink: (batch) => {
      batches.add(batch)
      pass.counts.push(batch.count)
      for (let row = 0; row < batch.count; row++) {
        pass.rows.push([batch.tick[row]!, batch.channel[row]!, batch.level[row]!])
      }
    },
  })
  const bytes = bytesOf(text)
  reader.write(bytes.subarray(0, selectAtByte ?? 0))
  if (selectAtByte !== undefined) reader.select(Uint8Array.from(wanted))
  reader.write(bytes.subarray(selectAtByte ?? 0))
  reader.end()
  expect(batches.size).toBeLessThanOrEqual(1)
  return pass
}

describe('select', () => {
  const text = `$timescale 1 ns $end
$var wire 1 ! a $end $var wire 4 " v [3:0] $end $var wire 1 abc c $end $enddefinitions $end
#0 0! b0000 " 1abc
#1 1! b1111 " 0abc
#2 0! b0101 " xabc
`
  it('emits exactly the wanted channels, from any byte on', () => {
    const all = readSelected(text, [1, 1, 1, 1, 1, 1]).rows
    expect(all).toHaveLength(16)
    for (const wanted of [
      [0, 1, 1, 1, 1, 1],
      [1, 0, 0, 0, 0, 1],
      [1, 0, 1, 0, 0, 1],
      [1, 1, 1, 1, 1, 0],
      [0, 0, 0, 1, 0, 0],
      [0, 0, 0, 0, 0, 0],
    ]) {
      expect(readSelected(text, wanted).rows).toEqual(all.filter(([, channel]) => wanted[channel] === 1))
    }
    const later = readSelected(text, [0, 0, 1, 0, 0, 0], text.indexOf('#1')).rows
    expect(later).toEqual(all.filter(([tick, channel]) => tick < 1 || channel === 2))
  })

  it('drops values before the first time stamp as well', () => {
    const early = `${headerOf('a', 'b')}1! 0"\n#5\n`
    expect(readSelected(early, [0, 1]).rows).toEqual([[5, 1, 0]])
    expect(readSelected(early, [0, 1], early.indexOf('#5')).rows).toEqual([[5, 1, 0]])
  })

  it('does not take a file with nothing wanted for one with foreign codes', () => {
    expect(readSelected(`${headerOf('a')}#0 1! 1zz\n`, [0]).rows).toEqual([])
  })
})

it('fills every batch but the last, and reuses it', () => {
  const changes = Array.from({ length: BATCH_ROWS + 5 }, (_, n) => `#${n} ${n & 1}!\n`).join('')
  expect(readSelected(headerOf('a') + changes, [1]).counts).toEqual([BATCH_ROWS, 5])
  const exact = Array.from({ length: BATCH_ROWS }, (_, n) => `#${n} ${n & 1}!\n`).join('')
  expect(readSelected(headerOf('a') + exact, [1]).counts).toEqual([BATCH_ROWS])
})

it('tells the header before the first batch even if no body follows', () => {
  const seen: string[] = []
  const reader = new VcdReader({
    notices: new NoticeList(),
    onHeader: () => seen.push('header'),
    sink: () => seen.push('batch'),
  })
  reader.write(bytesOf(headerOf('a').trimEnd()))
  expect(seen).toEqual(['header'])
  expect(reader.end()).toEqual({ firstTick: 0, lastTick: 0 })
  expect(seen).toEqual(['header'])
})
