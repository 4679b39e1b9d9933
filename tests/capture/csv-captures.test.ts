// Tables that other programs wrote, where they are at hand. They are read, or refused by name; what they must give was read
// from the files themselves.

import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { cutEvery, readCsv, type Collected } from './csv-collect.ts'

const captures = join(import.meta.dirname, '../../../shared/captures')
const present = existsSync(captures)
const folders = ['csv', 'real', 'sim/sampled']

function load(path: string): Uint8Array {
  const bytes = readFileSync(join(captures, path))
  return new Uint8Array(path.endsWith('.gz') ? gunzipSync(bytes) : bytes)
}

function read(path: string, chunk = 256 * 1024): Collected {
  return readCsv(cutEvery(load(path), chunk))
}

describe.skipIf(!present)(
  present ? 'captures beside the project' : 'no captures beside the project: skipped',
  () => {
    const files = present
      ? folders.flatMap((folder) =>
          readdirSync(join(captures, folder))
            .filter((name) => /\.csv(?:\.gz)?$/.test(name))
            .map((name) => `${folder}/${name}`),
        )
      : []

    it.each(files)('%s is read, or refused as no waveform', (path) => {
      const result = read(path)
      if (path.includes('refuse_')) {
        expect(result.error).toMatchObject({ code: 'CSV_NOT_A_WAVEFORM', byte: 0 })
        return
      }
      expect(result.error).toBeUndefined()
      expect(result.header?.channels.length).toBeGreaterThan(0)
      expect(result.rows.length).toBeGreaterThan(0)
      // Ticks never fall and are whole.
      expect(
        result.rows.every(
          ([tick], n) => Number.isInteger(tick) && (n === 0 || tick >= result.rows[n - 1]![0]),
        ),
      ).toBe(true)
    })

    it('tells the same of a file read in small pieces', () => {
      for (const path of [
        'csv/time_last_hexbus.csv',
        'csv/scope_plus_exponent.csv',
        'real/cga_crtc_truncated_time.csv',
      ]) {
        expect(read(path, 997)).toEqual(read(path))
      }
    })

    const facts: readonly [
      path: string,
      channels: number,
      secondsPerTick: number | null,
      interval: number | null,
      firstTick: number,
      lastTick: number,
    ][] = [
      ['csv/seconds_crlf.csv', 1, 1e-9, null, 1_470_471_113, 1_475_325_983],
      ['csv/space_after_comma.csv', 1, 1e-9, null, -100_000_000, 95_610],
      ['csv/unit_per_cell.csv', 4, 1e-9, null, 0, 52_377_601],
      ['csv/per_sample_negative_time.csv.gz', 8, 1e-9, 250, -250, 4_999_250],
      ['csv/time_last_hexbus.csv', 48, 1e-9, 100, -209_715_100, -209_710_300],
      ['csv/hash_preamble_x_cells.csv', 10, 1e-9, 12_400, -2_083_200, 23_299_600],
      ['csv/scope_side_preamble.csv', 1, 1e-9, 2000, -2_100_000, 2_898_000],
      ['csv/scope_long_preamble.csv', 2, 1e-11, 2000, -40_300_000, -34_344_000],
      ['csv/scope_plus_exponent.csv', 2, 1e-9, 2000, -1_000_000, 998_000],
      ['real/cga_crtc_truncated_time.csv', 3, 1e-9, null, 104, 160_345_224],
      ['sim/sampled/cga_80x25_24MHz_time_dedup.csv.gz', 6, 1e-9, null, 41, 49_297_580],
      ['sim/sampled/cga_80x25_24MHz_persample.csv.gz', 6, 1 / 24e6, 1, 0, 1_202_379],
    ]
    it.each(facts)(
      '%s: channels, tick, interval and extent',
      (path, channels, secondsPerTick, interval, firstTick, lastTick) => {
        const result = read(path)
        expect(result.header?.channels).toHaveLength(channels)
        expect(result.header).toMatchObject({ secondsPerTick, sampleIntervalTicks: interval })
        expect(result.extent).toMatchObject({ firstTick, lastTick })
      },
    )

    it('gives as many changes from rows of samples as from rows of changes', () => {
      for (const name of ['cga_320x200_100MHz', 'mda_80x25_24MHz', 'vga_640x480_24MHz']) {
        const perSample = read(`sim/sampled/${name}_persample.csv.gz`)
        const perChange = read(`sim/sampled/${name}_time_dedup.csv.gz`)
        const levels = ({ rows }: Collected) => rows.map(([, channel, level]) => channel * 2 + level)
        expect(levels(perSample)).toEqual(levels(perChange))
      }
    })
  },
)
