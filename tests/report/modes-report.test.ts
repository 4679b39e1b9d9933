import { describe, expect, it } from 'vitest'
import { STANDARDS } from '../../src/classify/standards.ts'
import { NO_INK } from '../../src/report/ink.ts'
import { modesReport, modesText } from '../../src/report/modes-report.ts'
import { modesSchema } from '../../src/report/modes-schema.ts'

const report = modesReport(STANDARDS)
const ids = report.modes.map(({ id }) => id)

describe('modesReport', () => {
  it('keeps its schema, which knows every name in it', () => {
    expect(modesSchema.parse(report)).toEqual(report)
  })

  it('has every id once', () => {
    expect(new Set(ids).size).toBe(ids.length)
  })

  it('has the ids of the contract', () => {
    // typed from the contract; DMT by the published number of each timing
    const contract =
      'mda-350 mono-348 cga-200 ega-200 ega-350 ega-mono-350 ' +
      'vga-350-70 vga-400-70 vga-text-400-70 vga-480-60 dmt-04'
    expect(ids).toEqual(expect.arrayContaining(contract.split(' ')))
  })

  it('names only modes that exist as having the same timing', () => {
    const named = report.modes.flatMap(({ sameTimingAs }) => (sameTimingAs === null ? [] : [sameTimingAs]))
    expect(named.length).toBeGreaterThan(0)
    expect(named.filter((id) => !ids.includes(id))).toEqual([])
  })

  it('gives rates that follow from its own totals', () => {
    for (const mode of report.modes) {
      expect(mode.scanlineHz, mode.id).toBeCloseTo(mode.dotClockHz / mode.dotsPerScanline, 6)
      const sweeps = mode.interlaced ? 2 : 1
      expect(mode.frameHz, mode.id).toBeCloseTo((mode.scanlineHz * sweeps) / mode.scanlinesPerFrame, 6)
      expect(mode.activeDots).toBeLessThan(mode.dotsPerScanline)
      expect(mode.activeScanlines).toBeLessThan(mode.scanlinesPerFrame)
      expect(mode.source.length).toBeGreaterThan(10)
    }
  })
})

describe('modesText', () => {
  const lines = modesText(report, NO_INK).split('\n')

  it('has a row and a source for every mode, within 80 columns', () => {
    for (const { id } of report.modes) {
      expect(lines.filter((line) => line.startsWith(`${id} `)).length).toBe(1)
      expect(lines.filter((line) => line.startsWith(`  ${id}: `)).length).toBe(1)
    }
    expect(lines.filter((line) => line.length > 80)).toEqual([])
  })

  it('has its columns under their heads', () => {
    const at = lines[0]!.indexOf('picture')
    for (const { activeDots, activeScanlines } of report.modes) {
      expect(lines.some((line) => line.slice(at).startsWith(`${activeDots} x ${activeScanlines}`))).toBe(true)
    }
  })
})
