// Files of many writers, where the folder with them lies beside the project.

import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { gunzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { NoticeList } from '../../src/notices.ts'
import { CaptureError } from '../../src/errors.ts'
import { VcdReader } from '../../src/capture/vcd-reader.ts'
import type { CaptureExtent, CaptureHeader } from '../../src/capture/capture-header.ts'

const FOLDER = fileURLToPath(new URL('../../../shared/captures/', import.meta.url))

interface Summary {
  channels: string[]
  header: CaptureHeader | undefined
  rows: number
  /** Of all ticks, channels and levels, in order. */
  checksum: number
  extent: CaptureExtent | undefined
  notices: string[]
  error: string | undefined
}

function summarize(bytes: Uint8Array, chunkBytes: number): Summary {
  const notices = new NoticeList()
  const summary: Summary = {
    channels: [],
    header: undefined,
    rows: 0,
    checksum: 0,
    extent: undefined,
    notices: [],
    error: undefined,
  }
  let lastTick = Number.NEGATIVE_INFINITY
  const reader = new VcdReader({
    notices,
    onHeader: (header) => {
      summary.header = header
      summary.channels = header.channels.map((channel) => channel.name)
    },
    sink: ({ count, tick, channel, level }) => {
      for (let row = 0; row < count; row++) {
        if (tick[row]! < lastTick) throw new Error('ticks fall')
        lastTick = tick[row]!
        summary.checksum =
          (summary.checksum * 31 + (lastTick % 65521) + channel[row]! * 4 + level[row]!) % 4294967291
      }
      summary.rows += count
    },
  })
  try {
    for (let i = 0; i < bytes.length; i += chunkBytes) reader.write(bytes.subarray(i, i + chunkBytes))
    summary.extent = reader.end()
  } catch (error) {
    if (!(error instanceof CaptureError)) throw error
    summary.error = `${error.code} at byte ${error.at.byte}`
  }
  summary.notices = notices.list().map(({ code, count, firstAtByte }) => `${code} ${count} ${firstAtByte}`)
  return summary
}

function read(name: string): Uint8Array {
  const bytes = readFileSync(FOLDER + name)
  return name.endsWith('.gz') ? gunzipSync(bytes) : bytes
}

const names = ['vcd', 'real', 'sim', 'sim/sampled'].flatMap((folder) =>
  existsSync(FOLDER + folder)
    ? readdirSync(FOLDER + folder)
        .filter((name) => /\.vcd(\.gz)?$/.test(name))
        .map((name) => `${folder}/${name}`)
    : [],
)

/** The only ones that hold no readable wire. */
const WITHOUT_A_RESULT: Record<string, string> = {
  'vcd/cut_header.vcd': 'VCD_HEADER_UNTERMINATED at byte 2304',
  'vcd/sim_event.vcd': 'VCD_NO_CHANNELS at byte 188',
  'vcd/vhdl_string.vcd': 'VCD_NO_CHANNELS at byte 381',
}

describe('captures beside the project', () => {
  if (names.length === 0) it.skip(`none at ${FOLDER}`, () => {})

  it.each(names)(
    '%s',
    (name) => {
      const bytes = read(name)
      const summary = summarize(bytes, 256 * 1024)
      expect(summary.error).toBe(WITHOUT_A_RESULT[name])
      if (summary.error === undefined) {
        expect(summary.rows).toBeGreaterThan(0)
        expect(summary.extent!.lastTick).toBeGreaterThan(summary.extent!.firstTick)
        expect(new Set(summary.channels).size).toBe(summary.channels.length)
      }
      expect(summarize(bytes, bytes.length > 4e6 ? 4093 : 7)).toEqual(summary)
    },
    60_000,
  )

  const expected: [string, Partial<Summary> & { secondsPerTick?: number; statedRateHz?: number }][] = [
    [
      'real/cga_crtc_true_rate.vcd',
      { channels: ['HS', 'VS', 'DEN'], statedRateHz: 9_545_454, secondsPerTick: 1e-9 },
    ],
    [
      'sim/sampled/cga_80x25_24MHz.vcd.gz',
      { channels: ['HSYNC', 'VSYNC', 'R', 'G', 'B', 'I'], statedRateHz: 24e6 },
    ],
    ['sim/ghdl_vga_25mhz.vcd.gz', { channels: ['hsync_n', 'vsync_n', 'r', 'g', 'b'], secondsPerTick: 1e-15 }],
    ['vcd/final_time.vcd', { extent: { firstTick: 0, lastTick: 40 }, rows: 6 }],
    [
      'vcd/sim_counter.vcd',
      {
        channels: [
          'counter_tb.out[1]',
          'counter_tb.out[0]',
          'clock',
          'enable',
          'reset',
          'top.out[1]',
          'top.out[0]',
        ],
      },
    ],
    ['vcd/starts_late.vcd', { extent: { firstTick: 31_000, lastTick: 309_938_000 } }],
  ]
  it.each(expected.filter(([name]) => names.includes(name)))(
    '%s holds what its text says',
    (name, { secondsPerTick, statedRateHz, ...summary }) => {
      const found = summarize(read(name), 65_536)
      expect(found).toMatchObject(summary)
      if (secondsPerTick !== undefined) expect(found.header).toMatchObject({ secondsPerTick })
      if (statedRateHz !== undefined) expect(found.header).toMatchObject({ statedRateHz })
    },
  )
})
