// The catalogue → what `modes` prints, as data and as text.

import type { Mark, Standard } from '../classify/standard.ts'
import { fieldRateHz, scanlineRateHz } from '../classify/standard.ts'
import type { Polarity } from '../measurement.ts'
import type { Ink } from './ink.ts'
import { wrapped } from './wrapped.ts'

/** `rastertap.modes/1` */
export interface ModesReport {
  format: 'rastertap.modes/1'
  modes: {
    id: string
    name: string
    dotClockHz: number
    dotsPerScanline: number
    scanlinesPerFrame: number
    activeDots: number
    activeScanlines: number
    hsyncPolarity: Polarity | null
    vsyncPolarity: Polarity | null
    channels: string
    scanlineHz: number
    frameHz: number
    interlaced: boolean
    sameTimingAs: string | null
    note: string | null
    source: string
    mark: Mark
  }[]
}

export function modesReport(standards: readonly Standard[]): ModesReport {
  return {
    format: 'rastertap.modes/1',
    modes: standards.map((row) => ({
      id: row.id,
      name: row.name,
      dotClockHz: row.dotClockHz,
      dotsPerScanline: row.dotsPerScanline,
      scanlinesPerFrame: row.scanlinesPerFrame,
      activeDots: row.activeDots,
      activeScanlines: row.activeScanlines,
      hsyncPolarity: row.hsyncPolarity,
      vsyncPolarity: row.vsyncPolarity,
      channels: row.colour,
      scanlineHz: scanlineRateHz(row),
      frameHz: fieldRateHz(row),
      interlaced: row.interlaced,
      sameTimingAs: row.sameTimingAs ?? null,
      note: row.note ?? null,
      source: row.source,
      mark: row.mark,
    })),
  }
}

const SIGN: Readonly<Record<Polarity, string>> = { positive: '+', negative: '-' }

/** One row per mode, then the sources; 80 columns. */
export function modesText({ modes }: ModesReport, ink: Ink): string {
  const idWidth = Math.max(...modes.map(({ id }) => id.length))
  const lines = [
    ink.dim(`${'mode'.padEnd(idWidth)}  picture      scan kHz  frame Hz  total        dot MHz  sync`),
  ]
  for (const mode of modes) {
    const polarity = `${mode.hsyncPolarity ? SIGN[mode.hsyncPolarity] : '?'}${mode.vsyncPolarity ? SIGN[mode.vsyncPolarity] : '?'}`
    lines.push(
      [
        ink.strong(mode.id.padEnd(idWidth)),
        `${mode.activeDots} x ${mode.activeScanlines}${mode.interlaced ? 'i' : ''}`.padEnd(11),
        (mode.scanlineHz / 1e3).toFixed(3).padStart(8),
        mode.frameHz.toFixed(2).padStart(8),
        `${mode.dotsPerScanline} x ${mode.scanlinesPerFrame}`.padEnd(11),
        (mode.dotClockHz / 1e6).toFixed(3).padStart(7),
        polarity,
      ].join('  '),
    )
  }
  lines.push('', ink.strong('Names and sources'))
  for (const mode of modes) {
    const same = mode.sameTimingAs ? ` Same timing as ${mode.sameTimingAs}.` : ''
    const note = mode.note ? ` ${mode.note}` : ''
    lines.push(...wrapped(`${mode.name}. ${mode.source} (${mode.mark}).${same}${note}`, `  ${mode.id}: `))
  }
  return `${lines.join('\n')}\n`
}
