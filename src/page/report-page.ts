// A measured capture → one HTML page that needs nothing else: no network, no other file. A pure function of its subject.

import { measurePulses } from '../measure-pulses.ts'
import { cautionSection } from './caution-section.ts'
import { eyeSection } from './eye-section.ts'
import { faultSection } from './fault-section.ts'
import { madeSection } from './made-section.ts'
import { Markup, markup } from './markup.ts'
import { outputSection } from './output-section.ts'
import { PAGE_STYLE } from './page-style.ts'
import type { InlineScript, PageSubject } from './page-subject.ts'
import { pictureSection } from './picture-section.ts'
import { samplingSection } from './sampling-section.ts'
import { steadinessSection } from './steadiness-section.ts'
import { summarySection } from './summary-section.ts'
import { drawingsSection, numbersSection } from './timing-section.ts'

const CONTENTS = [
  ['picture', 'Picture'],
  ['numbers', 'Numbers'],
  ['timing', 'Timing'],
  ['faults', 'Sync faults'],
  ['steadiness', 'Steadiness'],
  ['eye', 'Eye'],
  ['sampling', 'Sampling'],
  ['output', 'Output'],
  ['cautions', 'Cautions'],
  ['made', 'How made'],
] as const

/** The page as text. The same subject gives the same text. */
export function reportPage(subject: PageSubject): string {
  const { measurement, picture, sampling, adapter, output, file, code } = subject
  const pulses = measurePulses(measurement)
  const { standard } = measurement.main.classification
  const name = file === '-' ? 'standard input' : (file.split(/[/\\]/).findLast((step) => step !== '') ?? file)
  const page = markup`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy(code)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="generator" content="rastertap ${subject.made.version}">
<title>${name}: ${standard?.name ?? 'no known standard'}</title>
<style>${new Markup(code.chartStyle)}${new Markup(PAGE_STYLE)}</style>
</head>
<body>
<a class="skip" href="#main">To the content</a>
<header>
<p class="kicker">rastertap report</p>
<h1>${name}</h1>
</header>
<nav aria-label="Contents"><ul>${CONTENTS.map(([id, title]) => markup`<li><a href="#${id}">${title}</a></li>`)}</ul></nav>
<main id="main">
${summarySection(subject, pulses)}
${pictureSection(picture, standard?.name ?? 'no known standard', measurement.main.picture?.raster.codes.length ?? 0)}
${numbersSection(measurement)}
${drawingsSection(measurement)}
${faultSection(measurement, pulses)}
${steadinessSection(measurement, pulses)}
${eyeSection(measurement)}
${samplingSection(sampling, adapter, picture)}
${outputSection(output)}
${cautionSection()}
${madeSection(subject)}
</main>
${scriptElement(code.charts)}
${scriptElement(code.page)}
</body>
</html>
`
  return page.text
}

/** Nothing is fetched; only pictures within the page, its own style, and the two scripts with these digests. */
function policy({ charts, page }: PageSubject['code']): string {
  const scripts = [charts, page].map(({ sha256Base64 }) => `'sha256-${sha256Base64}'`).join(' ')
  return `default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src ${scripts}; base-uri 'none'; form-action 'none'`
}

/** @throws {RangeError} a script that would end its element early, and so not be what its digest says */
function scriptElement({ source }: InlineScript): Markup {
  if (/<\/script|<!--/i.test(source)) throw new RangeError('a script holds the end of its own element')
  return markup`<script>${new Markup(source)}</script>`
}
