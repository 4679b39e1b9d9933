import { spawnSync } from 'node:child_process'
import { describe, expect, it, test } from 'vitest'
import { fieldRateHz, scanlineRateHz, standardById } from '../../src/classify/standards.ts'

const CODES = Array.from({ length: 0x12 }, (_, i) => (i + 1).toString(16).padStart(2, '0'))

const printed = (code: string): string | null => {
  const run = spawnSync('edid-decode', ['--dmt', `0x${code}`], { encoding: 'utf8' })
  return run.error || run.status !== 0 || !run.stdout.startsWith('DMT') ? null : run.stdout
}

const available = printed('04') !== null
if (!available)
  console.warn('edid-decode is not installed: DMT rows are checked only against the typed table')

/** Fields of the three lines that the tool prints for a timing. */
function timingIn(text: string) {
  const number = (pattern: RegExp): number => Number(pattern.exec(text)?.[1] ?? 0)
  const vertical = text.split('\n')[2]!
  const inVertical = (pattern: RegExp): number => Number(pattern.exec(vertical)?.[1] ?? 0)
  const hBorder = number(/Hborder\s+(\d+)/)
  const vBorder = inVertical(/Vborder\s+(\d+)/)
  return {
    interlaced: / [1-9]\d+x\d+i /.test(text),
    activeDots: number(/ ([1-9]\d+)x\d+/),
    activeScanlines: number(/ [1-9]\d+x(\d+)/),
    vsyncHz: number(/([\d.]+) Hz/),
    hsyncKhz: number(/([\d.]+) kHz/),
    dotClockHz: Math.round(number(/([\d.]+) MHz/) * 1e6),
    h: [number(/Hfront\s+(\d+)/) + hBorder, number(/Hsync\s+(\d+)/), number(/Hback\s+(\d+)/) + hBorder],
    v: [
      inVertical(/Vfront\s+(\d+)/) + vBorder + inVertical(/Vfront \+([\d.]+)/),
      inVertical(/Vsync\s+(\d+)/),
      inVertical(/Vback\s+(\d+)/) + vBorder,
    ],
    polarity: [/Hpol (\w)/.exec(text)?.[1], /Vpol (\w)/.exec(vertical)?.[1]],
  }
}

describe.skipIf(!available)('VESA DMT as printed by edid-decode', () => {
  test.each(CODES)('%sh', (code) => {
    const row = standardById(`dmt-${code}`)!
    const told = timingIn(printed(code)!)
    const letter = (polarity: string | null) => (polarity === 'positive' ? 'P' : 'N')
    expect({
      interlaced: row.interlaced,
      activeDots: row.activeDots,
      activeScanlines: row.activeScanlines,
      dotClockHz: row.dotClockHz,
      h: Object.values(row.horizontal),
      v: Object.values(row.vertical),
      polarity: [letter(row.hsyncPolarity), letter(row.vsyncPolarity)],
    }).toEqual({
      interlaced: told.interlaced,
      activeDots: told.activeDots,
      activeScanlines: told.activeScanlines,
      dotClockHz: told.dotClockHz,
      h: told.h,
      v: told.v,
      polarity: told.polarity,
    })
    expect(scanlineRateHz(row) / 1000).toBeCloseTo(told.hsyncKhz, 3)
    expect(fieldRateHz(row)).toBeCloseTo(told.vsyncHz, 5)
  })
})

it('has the rates of VESA DMT v1.0 rev. 13', () => {
  // typed from the summary of the document: code, kHz, Hz
  const rates: [string, number, number][] = [
    ['01', 37.861, 85.08],
    ['02', 37.861, 85.08],
    ['03', 37.927, 85.039],
    ['04', 31.469, 59.94],
    ['05', 37.861, 72.809],
    ['06', 37.5, 75],
    ['07', 43.269, 85.008],
    ['08', 35.156, 56.25],
    ['09', 37.879, 60.317],
    ['0a', 48.077, 72.188],
    ['0b', 46.875, 75],
    ['0c', 53.674, 85.061],
    ['0d', 76.302, 119.972],
    ['0e', 31.02, 60],
    ['0f', 35.522, 86.958],
    ['10', 48.363, 60.004],
    ['11', 56.476, 70.069],
    ['12', 60.023, 75.029],
  ]
  expect(rates.map(([code]) => code)).toEqual(CODES)
  for (const [code, kilohertz, hertz] of rates) {
    const row = standardById(`dmt-${code}`)!
    expect(Math.abs(scanlineRateHz(row) / 1000 - kilohertz)).toBeLessThan(0.0006)
    expect(Math.abs(fieldRateHz(row) - hertz)).toBeLessThan(0.0006)
  }
})

test('dots of DMT are square but in the modes that were made for text: their pictures are as wide as they say', () => {
  for (const code of CODES) {
    const { activeDots, activeScanlines, displayAspect } = standardById(`dmt-${code}`)!
    // 350 and 400 scanlines fill a screen of 480
    const scanlines = activeScanlines < 480 ? (activeDots * 3) / 4 : activeScanlines
    expect(Math.abs(activeDots / scanlines / displayAspect - 1), code).toBeLessThan(0.01)
  }
})
