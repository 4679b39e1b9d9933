// A row of the catalogue → a card that puts it out. For tests that ask how sure an answer is, not whether the row is as
// published: those take timings.ts, which is typed from the documents.

import { scanlinesPerField, type ColourWires, type Standard } from '../../src/classify/standards.ts'
import { pick, type Random } from './random.ts'
import type { Timing } from './timings.ts'

const WIRES: Readonly<Record<ColourWires, readonly (readonly string[])[]>> = {
  mono: [['video', 'I']],
  rgb: [['R', 'G', 'B']],
  rgbi: [['R', 'G', 'B', 'I']],
  rgbrgb: [['R', 'G', 'B', 'r', 'g', 'b']],
  // before the converter, one or two bits of each colour are what a small design has
  analog: [
    ['R', 'G', 'B'],
    ['R1', 'G1', 'B1', 'R0', 'G0', 'B0'],
  ],
}

/** Any card of the row: where the row accepts several totals, widths, crystals or polarities, one of them. */
export function cardOfRow(row: Standard, random: Random): Timing {
  const channels = pick(random, WIRES[row.colour])
  const sweep = scanlinesPerField(row)
  const total = row.interlaced ? sweep : usually(row.scanlinesAccepted, random)
  // a width that leaves no room for the picture shows no whole picture: not what these cards are for
  const hsync = usually(
    row.syncDotsAccepted.filter((dots) => dots <= row.dotsPerScanline - row.activeDots),
    random,
  )
  const vsync = usually(row.vsyncScanlinesAccepted, random)
  const active = row.interlaced ? row.activeScanlines / 2 : row.activeScanlines
  const hPorches = row.dotsPerScanline - row.activeDots - hsync
  const vPorches = total - active - vsync
  const hFront = Math.min(row.horizontal.frontPorch, hPorches)
  // the back porch of a field is whole: its half scanline, if any, stands in front
  const vBack = Math.floor(Math.max(0, Math.min(vPorches, vPorches - row.vertical.frontPorch)))
  const either = (): 'positive' | 'negative' => (random.below(2) === 0 ? 'positive' : 'negative')
  return {
    name: row.id,
    source: row.source,
    dotClockHz: usually([row.dotClockHz, ...row.dotClockVariantsHz], random),
    h: {
      active: row.activeDots,
      frontPorch: hFront,
      sync: hsync,
      backPorch: hPorches - hFront,
      total: row.dotsPerScanline,
    },
    v: { active, frontPorch: vPorches - vBack, sync: vsync, backPorch: vBack, total },
    hsyncPolarity: row.hsyncPolarity ?? either(),
    vsyncPolarity: row.vsyncPolarity ?? either(),
    channels,
    codeMask: 2 ** channels.length - 1,
    vsyncOffsetDots: pick(random, [0, 0, hsync, hsync + hPorches - hFront]),
    interlaced: row.interlaced,
  }
}

/** The first of the list three times out of four. */
function usually<T>(list: readonly T[], random: Random): T {
  return list.length === 1 || random.uniform() < 0.75 ? list[0]! : list[1 + random.below(list.length - 1)]!
}
