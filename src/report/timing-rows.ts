// A measured segment → its timing row by row: measured, nominal, how far apart. What the terminal and the page print.

import { scanlineRateHz, scanlinesPerField } from '../classify/standard.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import type { Measurement } from '../measurement.ts'
import { measured, measuredRate, plain, relative } from './number-text.ts'

/** One row; texts are empty where there is nothing to say. */
export interface TimingRow {
  label: string
  measured: string
  nominal: string
  off: string
  /** The number that `measured` shows, in SI units, dots or scanlines; null where it shows none, or several. */
  value: number | null
}

/** Rates, counts, polarities, widths and porches of a segment. */
export function timingRows(segment: SegmentMeasurement): TimingRow[] {
  const { hsync, vsync, raster, active } = segment
  const found = segment.classification.standard
  const row = found?.standard ?? null
  const nominalHz = found && row ? scanlineRateHz(row, found.dotClockHz) : null
  const fieldHz = nominalHz !== null && row ? nominalHz / scanlinesPerField(row) : null
  const dotClock = raster.dotClockHz
  // where both syncs share a wire, its polarity is neither one's, and the classifier does not compare it
  const isInverted = (which: string): boolean =>
    found?.differences.some(({ quantity }) => quantity === `${which} polarity`) === true
  const isAssumed = raster.dotClockFrom === 'standard'
  const rows: TimingRow[] = [
    rate('scanline rate', hsync.frequencyHz, nominalHz),
    vsync?.frequencyHz
      ? rate(raster.interlaced ? 'field rate' : 'frame rate', vsync.frequencyHz, fieldHz)
      : words('frame rate', 'not captured'),
    whole(
      'scanlines per frame',
      raster.scanlinesPerFrame,
      row?.scanlinesPerFrame ?? null,
      raster.interlaced ? ', interlaced' : '',
    ),
    withNote(whole('dots per scanline', raster.dotsPerScanline, row?.dotsPerScanline ?? null), isAssumed),
    dotClock === null
      ? words('dot clock', 'not measured')
      : withNote(rate('dot clock', dotClock, found?.dotClockHz ?? null), isAssumed),
    {
      label: 'hsync',
      measured: `${hsync.polarity}, ${measured(hsync.widthSeconds, 's')}`,
      nominal:
        row && nominalHz !== null
          ? `${row.hsyncPolarity ?? 'either'}, ${plain(row.horizontal.sync / row.dotsPerScanline / nominalHz, 's', 3)}`
          : '',
      off: isInverted('hsync') ? 'inverted' : '',
      value: hsync.widthSeconds.value,
    },
    {
      label: 'vsync',
      measured: vsync
        ? `${vsync.polarity}, ${Number(vsync.widthScanlines.toFixed(2))} scanlines`
        : 'not captured',
      nominal: row ? `${row.vsyncPolarity ?? 'either'}, ${row.vertical.sync}` : '',
      off: isInverted('vsync') ? 'inverted' : '',
      value: vsync?.widthScanlines ?? null,
    },
  ]
  if (active) {
    rows.push(
      words(
        'active area',
        `${active.dots} x ${active.scanlines}`,
        row ? `${row.activeDots} x ${row.activeScanlines}` : '',
        active.from === 'standard' ? '(assumed)' : '',
      ),
      words(
        'horizontal porches',
        `back ${active.hBackPorchDots}, front ${active.hFrontPorchDots} dots`,
        row ? `back ${row.horizontal.backPorch}, front ${row.horizontal.frontPorch}` : '',
      ),
      words(
        'vertical porches',
        active.vBackPorchScanlines === null
          ? 'not measured'
          : `back ${active.vBackPorchScanlines}, front ${active.vFrontPorchScanlines} scanlines`,
        row ? `back ${row.vertical.backPorch}, front ${row.vertical.frontPorch}` : '',
      ),
    )
  }
  return rows
}

function words(label: string, shown: string, nominal = '', off = ''): TimingRow {
  return { label, measured: shown, nominal, off, value: null }
}

/** What is assumed to be as the standard says is not off by anything. */
function withNote(row: TimingRow, isAssumed: boolean): TimingRow {
  return isAssumed ? { ...row, off: '(assumed)' } : row
}

function rate(label: string, value: Measurement, nominal: number | null): TimingRow {
  return {
    label,
    measured: measuredRate(value),
    nominal: nominal === null ? '' : plain(nominal, 'Hz'),
    off: nominal === null ? '' : relative(value.value / nominal - 1),
    value: value.value,
  }
}

function whole(label: string, value: number | null, nominal: number | null, more = ''): TimingRow {
  const nominalText = nominal === null ? '' : String(nominal)
  if (value === null) return words(label, 'not measured', nominalText)
  const off = nominal === null || nominal === value ? '' : `${value > nominal ? '+' : ''}${value - nominal}`
  return { label, measured: `${value}${more}`, nominal: nominalText, off, value }
}
