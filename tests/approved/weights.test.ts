// Guards against change that nobody meant in what findings weigh: timings made of catalogue rows, a little or far off, with
// parts left out. See approved.test.ts for how to print the answers anew.

import type { Role } from '../../src/capture/role.ts'
import { classify } from '../../src/classify/classify.ts'
import type { MeasuredTiming } from '../../src/classify/measured-timing.ts'
import { scanlinesPerField, STANDARDS, type Standard } from '../../src/classify/standards.ts'
import { flatten, rowsFor } from './answers.ts'
import { testApproved, type Answers } from './approval.ts'

const WIRES: Readonly<Record<string, readonly Role[]>> = {
  mono: ['video', 'intensity'],
  rgb: ['red', 'green', 'blue'],
  rgbi: ['red', 'green', 'blue', 'intensity'],
  'two bits': ['red', 'secondary-red', 'green', 'secondary-green', 'blue', 'secondary-blue'],
}
/** Rows of every kind: one wire and six, one count of scanlines and several, variants of the crystal and none. */
const ROWS = ['mda-350', 'cga-200', 'ega-350', 'vga-text-400-70', 'vga-480-60']

/** A row as a perfect capture of all its wires would have it. */
function measuredOf(row: Standard, more: Partial<MeasuredTiming> = {}): MeasuredTiming {
  const hsyncHz = row.dotClockHz / row.dotsPerScanline
  const sweep = scanlinesPerField(row)
  return {
    hsyncHz: { value: hsyncHz, uncertainty: hsyncHz * 3e-6 },
    vsyncHz: { value: hsyncHz / sweep, uncertainty: (hsyncHz / sweep) * 2e-5 },
    scanlinesPerFrame: sweep,
    interlaced: false,
    dotsPerScanline: row.dotsPerScanline,
    hsyncPolarity: row.hsyncPolarity,
    vsyncPolarity: row.vsyncPolarity,
    hsyncWidthSeconds: { value: row.horizontal.sync / row.dotClockHz, uncertainty: 3e-9 },
    vsyncWidthScanlines: row.vertical.sync,
    litDots: row.activeDots - 3,
    litScanlines: row.activeScanlines - 2,
    roles: new Set(WIRES['rgb']!),
    timeScaleTrusted: true,
    ...more,
  }
}

function faster(row: Standard, relative: number, uncertainty = 3e-6): Pick<MeasuredTiming, 'hsyncHz'> {
  const hertz = (row.dotClockHz / row.dotsPerScanline) * (1 + relative)
  return { hsyncHz: { value: hertz, uncertainty: hertz * uncertainty } }
}

/** Of what is measured of a row, something else. */
const CHANGES: Readonly<Record<string, (row: Standard) => Partial<MeasuredTiming>>> = {
  'as it is': () => ({}),
  'rate 300 ppm off': (row) => faster(row, 3e-4),
  'rate 1 % off, label doubted': (row) => ({ ...faster(row, 0.01, 1e-4), timeScaleTrusted: false }),
  'rate 1 % off': (row) => faster(row, -0.01),
  'rate 9 % off': (row) => faster(row, 0.09),
  'rate 40 % off': (row) => faster(row, 0.4),
  'another crystal': (row) =>
    faster(row, (row.dotClockVariantsHz[0] ?? row.dotClockHz * 1.02) / row.dotClockHz - 1),
  'one scanline more': (row) => ({ scanlinesPerFrame: scanlinesPerField(row) + 1 }),
  'three scanlines more': (row) => ({ scanlinesPerFrame: scanlinesPerField(row) + 3 }),
  'sixty scanlines less': (row) => ({ scanlinesPerFrame: scanlinesPerField(row) - 60 }),
  'half the scanlines': (row) => ({ scanlinesPerFrame: Math.round(scanlinesPerField(row) / 2) }),
  'scanlines from rates alone': () => ({ scanlinesPerFrame: null }),
  'frame rate alone, 2 % off': (row) => ({
    scanlinesPerFrame: null,
    vsyncHz: {
      value: 1.02 * (row.dotClockHz / row.dotsPerScanline / scanlinesPerField(row)),
      uncertainty: 0.2,
    },
  }),
  'no vsync': () => ({
    scanlinesPerFrame: null,
    vsyncHz: null,
    vsyncPolarity: null,
    vsyncWidthScanlines: null,
  }),
  interlaced: (row) => ({ interlaced: true, scanlinesPerFrame: 2 * scanlinesPerField(row) + 1 }),
  'half the dots': (row) => ({ dotsPerScanline: row.dotsPerScanline / 2, litDots: row.activeDots / 2 - 3 }),
  'a quarter of the dots': (row) => ({
    dotsPerScanline: row.dotsPerScanline / 4,
    litDots: row.activeDots / 4,
  }),
  'five sixths of the dots': (row) => ({ dotsPerScanline: (row.dotsPerScanline * 5) / 6 }),
  'three dots more': (row) => ({ dotsPerScanline: row.dotsPerScanline + 3 }),
  'dots 30 % more': (row) => ({ dotsPerScanline: Math.round(row.dotsPerScanline * 1.3) }),
  'no picture': () => ({ dotsPerScanline: null, litDots: null, litScanlines: null, roles: new Set<Role>() }),
  'polarities inverted': (row) => ({
    hsyncPolarity: row.hsyncPolarity === 'positive' ? 'negative' : 'positive',
    vsyncPolarity: row.vsyncPolarity === 'positive' ? 'negative' : 'positive',
  }),
  'no polarities': () => ({ hsyncPolarity: null, vsyncPolarity: null }),
  'hsync three dots wider': (row) => ({
    hsyncWidthSeconds: { value: (row.horizontal.sync + 3) / row.dotClockHz, uncertainty: 4e-8 },
  }),
  'hsync half as wide': (row) => ({
    hsyncWidthSeconds: { value: row.horizontal.sync / 2 / row.dotClockHz, uncertainty: 1e-9 },
  }),
  'vsync half a scanline longer': (row) => ({ vsyncWidthScanlines: row.vertical.sync + 0.5 }),
  'vsync one scanline longer': (row) => ({ vsyncWidthScanlines: row.vertical.sync + 1 }),
  'widths not measured': () => ({ hsyncWidthSeconds: null, vsyncWidthScanlines: null }),
  'lit as far as it goes': (row) => ({ litDots: row.activeDots, litScanlines: row.activeScanlines }),
  'lit a little beyond': (row) => ({ litDots: row.activeDots + 2, litScanlines: row.activeScanlines + 1 }),
  'lit far beyond': (row) => ({ litDots: row.activeDots + 3, litScanlines: row.activeScanlines + 2 }),
  'mono wires': () => ({ roles: new Set(WIRES['mono']!) }),
  'three wires and one for intensity': () => ({ roles: new Set(WIRES['rgbi']!) }),
  'six wires': () => ({ roles: new Set(WIRES['two bits']!) }),
  'video and colours': () => ({ roles: new Set<Role>(['video', 'red']) }),
}

const cases = Object.fromEntries(
  ROWS.flatMap((id) =>
    Object.entries(CHANGES).map(([what, change]) => {
      const row = STANDARDS.find((one) => one.id === id)!
      return [`${id}, ${what}`, measuredOf(row, change(row))] as const
    }),
  ),
)

testApproved(new URL('weights.txt', import.meta.url), cases, (measured) => {
  const answers: Answers = new Map()
  const { standard, alternatives, nearest, family, familyNote, noneConfidence } = classify(measured)
  const confidences = (list: typeof alternatives): string =>
    list.map(({ id, confidence }) => `${id} ${confidence.toPrecision(6)}`).join(', ')
  flatten('standard', standard && confidences([standard]), answers)
  flatten('alternatives', confidences(alternatives), answers)
  flatten('family', `${confidences(family)}; ${familyNote}`, answers)
  flatten('none', noneConfidence, answers)
  flatten('nearest', `${nearest.id} at ${nearest.distance.toPrecision(6)}, ${nearest.dotClockHz} Hz`, answers)
  for (const { quantity, measured: is, nominal, unit, inTolerances } of nearest.differences)
    flatten(`nearest ${quantity}`, `${is} for ${nominal} ${unit}, ${inTolerances.toPrecision(6)}`, answers)
  flatten('rows', rowsFor(measured), answers)
  return answers
})
