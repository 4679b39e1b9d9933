// A resistor design → the object that `resistors --json` prints. The text is in resistors-text.ts, the schema in
// resistors-schema.ts.

import { cautionsFor, type Caution } from '../adapter/cautions.ts'
import type { SeriesName } from '../adapter/e-series.ts'
import type { BrownNeeds, PickedResistors, ResistorDesign } from '../adapter/resistor-pick.ts'

/** `rastertap.resistors/1`. Volts, ohms, milliamperes, milliwatts, as the names say. */
export interface ResistorsReport {
  format: 'rastertap.resistors/1'
  network: 'weighted' | 'rgbi' | 'mono'
  /** Of a weighted network, else null. */
  bits: number | null
  supplyVolts: number
  loadOhms: number
  fullScaleVolts: number
  pinOhms: number
  series: SeriesName
  tolerancePercent: number
  ideal: { parallelOhms: number; resistorsOhms: number[] }
  picked: PickedResistors
  brown: BrownNeeds | null
  warnings: string[]
  cautions: Caution[]
}

export function resistorsReport(design: ResistorDesign): ResistorsReport {
  const { network, electrics, series, tolerancePercent, ideal, picked, brown, warnings } = design
  return {
    format: 'rastertap.resistors/1',
    network: network.kind,
    bits: network.kind === 'weighted' ? network.bits : null,
    ...electrics,
    series,
    tolerancePercent,
    ideal,
    picked,
    brown,
    warnings,
    cautions: [...cautionsFor('resistors')],
  }
}
