// A captured adapter output against the mode it aims at: every deviation, and whether the published tolerance allows it.

import { fieldRateHz, scanlineRateHz, scanlinesPerField, type Standard } from '../classify/standard.ts'
import type { Measurement, Polarity } from '../measurement.ts'

/** What was measured at the adapter's sync pins. */
export interface MeasuredOutput {
  hsyncHz: Measurement
  /** null: the capture shows no whole frame. */
  vsyncHz: Measurement | null
  /** Of one field, if interlaced; not rounded. */
  scanlinesPerFrame: number | null
  hsyncPolarity: Polarity
  vsyncPolarity: Polarity | null
  hsyncWidthSeconds: Measurement | null
  vsyncWidthScanlines: number | null
  /** From a captured dot clock or picture; null where only sync was captured. */
  dotsPerScanline: number | null
}

/** One line of the check. */
export interface OutputFinding {
  what: string
  measured: number | string | null
  expected: number | string | null
  unit: 'Hz' | 'dots' | 'scanlines' | 'polarity'
  deviationPpm: number | null
  /** One standard uncertainty of the deviation. */
  uncertaintyPpm: number | null
  tolerancePpm: number | null
  /** null: cannot be judged, since one side is not known. */
  pass: boolean | null
}

export interface OutputCheck {
  id: string
  name: string
  findings: OutputFinding[]
  /** No finding fails; what cannot be judged does not count. */
  pass: boolean
}

/** Widths of sync differ from card to card and monitors do not mind: a quarter either way passes (common practice). */
const WIDTH_TOLERANCE = 0.25

/** Scanlines between two vsync edges: jitter of the edges within a scanline is no missing scanline. */
const SCANLINE_TOLERANCE = 0.1

/** The rates must lie within the row's published tolerance, the counts be met, the polarities agree. */
export function checkOutput(measured: MeasuredOutput, row: Standard): OutputCheck {
  const dotHz = row.dotClockHz
  const widthDots =
    measured.hsyncWidthSeconds === null
      ? null
      : {
          value: measured.hsyncWidthSeconds.value * dotHz,
          uncertainty: measured.hsyncWidthSeconds.uncertainty * dotHz,
        }
  const findings = [
    rate('scanline rate', measured.hsyncHz, scanlineRateHz(row), row),
    rate('frame rate', measured.vsyncHz, fieldRateHz(row), row),
    count('dots per scanline', measured.dotsPerScanline, row.dotsPerScanline, 'dots', 0),
    count(
      'scanlines per frame',
      measured.scanlinesPerFrame,
      nearestOf(measured.scanlinesPerFrame, row.scanlinesAccepted, row) ?? scanlinesPerField(row),
      'scanlines',
      SCANLINE_TOLERANCE,
    ),
    width('hsync width', widthDots, row.syncDotsAccepted, 'dots'),
    width(
      'vsync width',
      measured.vsyncWidthScanlines === null ? null : { value: measured.vsyncWidthScanlines, uncertainty: 0 },
      row.vsyncScanlinesAccepted,
      'scanlines',
    ),
    polarity('hsync polarity', measured.hsyncPolarity, row.hsyncPolarity),
    polarity('vsync polarity', measured.vsyncPolarity, row.vsyncPolarity),
  ]
  return { id: row.id, name: row.name, findings, pass: findings.every(({ pass }) => pass !== false) }
}

function rate(what: string, measured: Measurement | null, expected: number, row: Standard): OutputFinding {
  const deviationPpm = measured === null ? null : (measured.value / expected - 1) * 1e6
  const tolerancePpm = row.rateTolerance * 1e6
  return {
    what,
    measured: measured?.value ?? null,
    expected,
    unit: 'Hz',
    deviationPpm,
    uncertaintyPpm: measured === null ? null : (measured.uncertainty / expected) * 1e6,
    tolerancePpm,
    pass: deviationPpm === null ? null : Math.abs(deviationPpm) <= tolerancePpm,
  }
}

function count(
  what: string,
  measured: number | null,
  expected: number,
  unit: 'dots' | 'scanlines',
  within: number,
): OutputFinding {
  return {
    what,
    measured,
    expected,
    unit,
    deviationPpm: measured === null ? null : (measured / expected - 1) * 1e6,
    uncertaintyPpm: null,
    tolerancePpm: (within / expected) * 1e6,
    pass: measured === null ? null : Math.abs(measured - expected) <= within,
  }
}

function width(
  what: string,
  measured: Measurement | null,
  accepted: readonly number[],
  unit: 'dots' | 'scanlines',
): OutputFinding {
  const expected = measured === null ? accepted[0]! : nearest(measured.value, accepted)
  // a short pulse's width is known to a part of a dot only: one standard uncertainty is allowed on top
  const off = measured === null ? null : Math.abs(measured.value - expected) - measured.uncertainty
  return {
    what,
    measured: measured?.value ?? null,
    expected,
    unit,
    deviationPpm: measured === null ? null : (measured.value / expected - 1) * 1e6,
    uncertaintyPpm: measured === null ? null : (measured.uncertainty / expected) * 1e6,
    tolerancePpm: WIDTH_TOLERANCE * 1e6,
    pass: off === null ? null : off <= WIDTH_TOLERANCE * expected,
  }
}

function polarity(what: string, measured: Polarity | null, expected: Polarity | null): OutputFinding {
  return {
    what,
    measured,
    expected,
    unit: 'polarity',
    deviationPpm: null,
    uncertaintyPpm: null,
    tolerancePpm: null,
    pass: measured === null || expected === null ? null : measured === expected,
  }
}

/** `accepted` counts whole frames; a measured field of an interlaced row has half as many. */
function nearestOf(measured: number | null, accepted: readonly number[], row: Standard): number | undefined {
  if (measured === null) return undefined
  const sweeps = row.interlaced ? 2 : 1
  return nearest(
    measured,
    accepted.map((scanlines) => scanlines / sweeps),
  )
}

function nearest(value: number, candidates: readonly number[]): number {
  return candidates.reduce((a, b) => (Math.abs(b - value) < Math.abs(a - value) ? b : a))
}
