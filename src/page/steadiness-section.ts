// How steady the scanlines are: period against time and its histogram, which the page's script lets the reader zoom, and
// the jitter's figures beside what sampling alone explains.

import type { CaptureMeasurement } from '../measure.ts'
import type { JitterSeconds, PulseJitter, PulseMeasurement } from '../measure-pulses.ts'
import { plain } from '../report/number-text.ts'
import { jsonBlock, markup, type Markup } from './markup.ts'
import { periodSeries, type PeriodSeries } from './period-series.ts'
import { quantity, shown, withMicro } from './quantity.ts'
import { missingNote, section, table } from './section.ts'
import { stillChart, type StillChart } from './still-chart.ts'

export function steadinessSection(measurement: CaptureMeasurement, pulses: PulseMeasurement): Markup {
  const series = periodSeries(measurement)
  return section(
    'steadiness',
    'How steady it is',
    series ? charts(series) : missingNote('too few scanlines for a chart of their periods'),
    pulses.jitter && jitterTable(pulses.jitter),
  )
}

function charts(series: PeriodSeries): Markup {
  const { timeMs, periodUs, faultsMs, binUs, counts, scanlinesPerPoint, barUs, barIsSample } = series
  const points =
    scanlinesPerPoint > 1
      ? `each point is the mean of ${scanlinesPerPoint} scanlines`
      : 'each point is one scanline'
  const bar = withMicro(plain(barUs * 1e-6, 's', 4))
  const bars = barIsSample ? `each bar is one sample wide, ${bar}` : `each bar is ${bar} wide`
  const low = periodUs.reduce((least, value) => Math.min(least, value))
  const high = periodUs.reduce((most, value) => Math.max(most, value))
  const range = withMicro(`${plain(low * 1e-6, 's', 7)} to ${plain(high * 1e-6, 's', 7)}`)
  const marks = faultsMs.length > 0 ? '; sync faults are marked, misplaced pulses left out' : ''
  return markup`${chart('period', `Scanline period against time; ${points}${marks}`, {
    kind: 'line',
    x: timeMs,
    y: periodUs,
    marks: faultsMs,
    xLabel: 'time, ms',
    yLabel: 'scanline period, µs',
    title: `Scanline period against time: ${range}`,
  })}
${chart('histogram', `How often each period was seen; ${bars}`, {
  kind: 'bars',
  x: binUs,
  y: counts,
  xLabel: 'scanline period, µs',
  yLabel: scanlinesPerPoint > 1 ? 'points' : 'scanlines',
  title: `Histogram of scanline periods: ${range}`,
})}
${jsonBlock('chart-data', {
  period: { x: timeMs, y: periodUs, marks: faultsMs },
  histogram: { x: binUs, y: counts, marks: [] },
})}`
}

function chart(id: string, caption: string, still: StillChart): Markup {
  return markup`<figure class="chart" data-chart="${id}" data-kind="${still.kind}" data-x="${still.xLabel}" data-y="${still.yLabel}">
<figcaption>${caption}.</figcaption>
<div class="bar" role="group" aria-label="Zoom of the chart" data-needs-script>
<button type="button" data-zoom="in" aria-label="Zoom in">+</button>
<button type="button" data-zoom="out" aria-label="Zoom out">−</button>
<button type="button" data-zoom="left" aria-label="Earlier">◀</button>
<button type="button" data-zoom="right" aria-label="Later">▶</button>
<button type="button" data-zoom="all">All of it</button>
<output data-range></output>
</div>
<div class="plot" tabindex="0" role="region" aria-label="${still.title}. Plus and minus zoom, arrows move, zero shows all." data-plot></div>
${stillChart(still)}
</figure>`
}

function jitterTable(jitter: PulseJitter): Markup {
  const { details, randomSeconds, periodic, belowResolution } = jitter
  const row = (label: string, { observedSeconds, resolutionSeconds }: JitterSeconds): (string | Markup)[] => [
    label,
    quantity(observedSeconds, 's', 3),
    quantity(resolutionSeconds, 's', 3),
  ]
  const random = belowResolution
    ? markup`The random jitter is below what this capture can resolve, about ${quantity(randomSeconds.uncertainty, 's', 2)}.`
    : markup`An edge jitters by ${shown(randomSeconds.value, plain(randomSeconds.value, 's', 3))} RMS ± ${withMicro(plain(randomSeconds.uncertainty, 's', 1))}, sampling taken out.`
  return markup`${table(
    'Jitter of the scanlines',
    [
      { title: 'jitter' },
      { title: 'observed', isNumber: true },
      { title: 'of which sampling', isNumber: true },
    ],
    [
      row('period, RMS', details.periodRms),
      row('period, peak to peak', details.periodPeakToPeak),
      row('cycle to cycle, RMS', details.cycleToCycleRms),
      row('time interval error, RMS', details.timeIntervalErrorRms),
      row('time interval error, peak', details.timeIntervalErrorPeak),
    ],
  )}
<p>${random}${
    periodic &&
    markup` A regular component of ${quantity(periodic.amplitudeSeconds, 's', 3)} at ${quantity(periodic.frequencyHz.value, 'Hz', 4)} ± ${withMicro(plain(periodic.frequencyHz.uncertainty, 'Hz', 1))} stands out (or is folded down from a faster one).`
  }</p>`
}
