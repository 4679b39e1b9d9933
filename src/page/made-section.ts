// How the page was made, so that it can be made again and checked against the capture.

import type { CaptureMeasurement } from '../measure.ts'
import { count } from '../report/number-text.ts'
import { shellWord } from '../report/shell-word.ts'
import { markup, type Markup } from './markup.ts'
import type { PageSubject } from './page-subject.ts'
import { quantity } from './quantity.ts'
import { section } from './section.ts'

export function madeSection({ made, file, measurement }: PageSubject): Markup {
  const { version, command, inputBytes, inputSha256 } = made
  const source = file === '-' ? 'standard input' : file
  return section(
    'made',
    'How this page was made',
    markup`<dl class="facts">
<div><dt>by</dt><dd>rastertap ${version}</dd></div>
<div><dt>command</dt><dd><code>${command}</code></dd></div>
<div><dt>from</dt><dd>${source}, ${count(inputBytes, 'byte')}</dd></div>
<div><dt>SHA-256</dt><dd><code class="digest">${inputSha256}</code></dd></div>
</dl>`,
    markup`<p class="fine">The same version and command make the same page of the same capture, byte for byte.${
      file !== '-' && markup` <code>sha256sum ${shellWord(file)}</code> tells whether it is the same capture.`
    }</p>`,
    captureTable(measurement),
  )
}

function captureTable({
  kind,
  durationSeconds,
  sampleIntervalSeconds,
  transitions,
  channels,
}: CaptureMeasurement): Markup {
  return markup`<h3>The capture</h3><p>${kind.toUpperCase()}, ${quantity(durationSeconds, 's', 4)}${
    sampleIntervalSeconds !== null && markup`, ${quantity(1 / sampleIntervalSeconds, 'S/s', 5)}`
  }, ${count(transitions, 'transition')}. Its channels, and what each was taken for:</p>
<ul class="channels">${channels.map(({ name, role }) => markup`<li><span class="strong">${name}</span> ${role ?? 'not used'}</li>`)}</ul>`
}
