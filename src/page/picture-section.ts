// The frame, as the period monitor would show it: at its true shape, and enlarged until single dots are seen.

import { count } from '../report/number-text.ts'
import { pngDataUri } from './data-uri.ts'
import { markup, type Markup } from './markup.ts'
import type { Found, PagePicture } from './page-subject.ts'
import { missingNote, section, sentences } from './section.ts'

/**
 * @param what the mode's name, for those who cannot see the picture
 * @param rasterDots dots of the frame with its blanking
 */
export function pictureSection(picture: Found<PagePicture>, what: string, rasterDots: number): Markup {
  const title = 'The picture'
  if (picture.value === null) return section('picture', title, missingNote(picture.missing))
  const { frame, png } = picture.value
  const { widthPixels: width, heightPixels: height, pixelAspect } = frame
  const which = frame.frame === null ? 'What was captured of a frame' : `Frame ${frame.frame}`
  const about = `${which}, ${width} × ${height} dots, ${what}`
  return section(
    'picture',
    title,
    markup`<figure class="viewer" data-viewer data-dots="${width}" data-scanlines="${height}" data-aspect="${pixelAspect}" style="--aspect: ${(width * pixelAspect) / height}">
<div class="bar" role="group" aria-label="Size of the picture" data-needs-script>
<button type="button" data-zoom="out" aria-label="Smaller">−</button>
<button type="button" data-zoom="in" aria-label="Larger">+</button>
<button type="button" data-zoom="fit">Whole picture</button>
<button type="button" data-zoom="dots">Single dots</button>
<output data-place></output>
</div>
<div class="stage" tabindex="0" role="region" aria-label="The picture; plus and minus change its size, arrows move it" data-stage>
<div class="sheet" data-sheet>
<img src="${pngDataUri(png)}" width="${width}" height="${height}" alt="${about}" data-frame>
</div></div>
<figcaption>${about}. Palette ${frame.palette.name}.${frame.palette.note !== null && ` ${frame.palette.note}`}</figcaption>
</figure>`,
    sentences(doubts(frame, rasterDots)),
  )
}

function doubts({ whole, dotsWithoutSample }: PagePicture['frame'], rasterDots: number): string[] {
  const share = ((100 * dotsWithoutSample) / rasterDots).toFixed(0)
  return [
    ...(whole ? [] : ['The frame is not whole: scanlines that were not captured are black.']),
    ...(dotsWithoutSample > 0
      ? [
          `${count(dotsWithoutSample, 'dot')} of the raster (${share} %) fell between two samples: narrow strokes may be missing. A higher sample rate shows them.`,
        ]
      : []),
  ]
}
