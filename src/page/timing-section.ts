// Measured against nominal, and the two timing drawings.

import type { CaptureMeasurement } from '../measure.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import { differenceText } from '../report/difference-text.ts'
import { percent } from '../report/number-text.ts'
import { timingRows } from '../report/timing-rows.ts'
import { frameDrawing, type FrameShape } from './frame-drawing.ts'
import { markup, type Markup, type Piece } from './markup.ts'
import { quantity, shown, withMicro } from './quantity.ts'
import { frameAxis, scanlineAxis } from '../report/raster-parts.ts'
import { scanlineDrawing } from './scanline-drawing.ts'
import { missingNote, section, sentences, table } from './section.ts'

/** Natural widths of the drawings, on a screen and on a phone: the page shows the one that fits. */
const WIDE = 720
const NARROW = 350
/** Shape of a picture of which no standard tells: the monitors of the time are 4:3. */
const USUAL_ASPECT = 4 / 3

export function numbersSection({ main, segments }: CaptureMeasurement): Markup {
  const { standard, alternatives, nearest } = main.classification
  const isAssumed = main.raster.dotClockFrom === 'standard' || main.active?.from === 'standard'
  const compared = standard !== null
  return section(
    'numbers',
    compared ? 'Measured against nominal' : 'Measured',
    !compared &&
      markup`<p>No known standard fits. ${nearest.name} (${nearest.id}) is the nearest; it differs in:</p>`,
    !compared && sentences(nearest.differences.map(differenceText)),
    markup`<div class="wraps">${table(
      'Timing, measured against nominal',
      [
        { title: 'quantity' },
        { title: 'measured' },
        ...(compared ? [{ title: `nominal, ${standard.id}` }, { title: 'off by' }] : []),
      ],
      timingRows(main).map((row) => {
        const value: Piece = row.value === null ? withMicro(row.measured) : shown(row.value, row.measured)
        return [row.label, value, ...(compared ? [withMicro(row.nominal), row.off] : [])]
      }),
    )}</div>`,
    markup`<p class="fine">± is what this capture resolves, as a standard uncertainty (k = 1); the instrument's own clock, often 50 to 100 ppm off, comes on top.${isAssumed && ' “Assumed” is what the capture does not prove and the standard supplies.'}</p>`,
    alternatives.length > 0 &&
      markup`<p>Less likely: ${alternatives.map(({ name, id, confidence }) => `${name} (${id}), ${percent(confidence)}`).join('; ')}.</p>`,
    segments.length > 1 && segmentTable(segments, main),
  )
}

function segmentTable(segments: readonly SegmentMeasurement[], main: SegmentMeasurement): Markup {
  return markup`<h3>Stretches of different timing</h3><p>The capture holds ${segments.length}; this page is about the longest.</p>
${table(
  'Stretches of different timing',
  [
    { title: 'stretch', isNumber: true },
    { title: 'from', isNumber: true },
    { title: 'to', isNumber: true },
    { title: 'scanline rate', isNumber: true },
    { title: 'scanlines', isNumber: true },
    { title: 'standard' },
  ],
  segments.map((segment, index) => [
    `${index}${segment === main ? ', the longest' : ''}`,
    quantity(segment.startSeconds, 's', 5),
    quantity(segment.endSeconds, 's', 5),
    quantity(segment.hsync.frequencyHz.value, 'Hz'),
    segment.raster.scanlinesPerFrame ?? 'not measured',
    segment.classification.standard?.id ?? 'none known',
  ]),
)}`
}

export function drawingsSection({ main, channels }: CaptureMeasurement): Markup {
  const across = scanlineAxis(main)
  const down = frameAxis(main)
  const composite = channels.some(({ role }) => role === 'csync')
  const standard = main.classification.standard?.standard
  const shape: FrameShape | undefined = down && {
    across: across ?? null,
    down,
    activeAspect: standard?.displayAspect ?? USUAL_ASPECT,
    what: main.raster.interlaced ? 'field' : 'frame',
  }
  return section(
    'timing',
    'Timing, drawn to scale',
    markup`<h3>One scanline</h3>`,
    across
      ? inTwoSizes((width) =>
          scanlineDrawing(across, main.hsync.polarity, width, composite ? 'csync' : 'hsync'),
        )
      : missingNote('the dots could not be counted, and no standard says how many there are'),
    markup`<h3>One ${main.raster.interlaced ? 'field' : 'frame'}</h3>`,
    shape
      ? inTwoSizes((width) => frameDrawing(shape, width))
      : missingNote('no two vsync pulses were captured, so nothing says how long a frame is'),
    markup`<p class="fine">Counted from the leading edges of sync; across the frame, the colours are those of the scanline above. Borders, lit or not, count as porch.${main.active?.from === 'standard' && ' The picture does not prove where it begins and ends: the active area is the standard’s.'}</p>`,
  )
}

/** The style shows one of the two. */
function inTwoSizes(draw: (width: number) => Markup): Markup {
  return markup`<figure class="wide">${draw(WIDE)}</figure><figure class="narrow">${draw(NARROW)}</figure>`
}
