// Parts that every section of the page shares: headings, notes for what is missing, tables, lists.

import { markup, type Markup, type Piece } from './markup.ts'

/** A section with its heading; the heading names it for those who jump from one to the next. */
export function section(id: string, title: string, ...content: readonly Piece[]): Markup {
  return markup`<section id="${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${title}</h2>
${content}
</section>`
}

/** Says why something is not on the page. */
export function missingNote(why: string): Markup {
  return markup`<p class="missing">Not on this page: ${why}.</p>`
}

/** A list of sentences; nothing without any. */
export function sentences(items: readonly Piece[]): Markup | null {
  return items.length === 0 ? null : markup`<ul>${items.map((item) => markup`<li>${item}</li>`)}</ul>`
}

/** A column of a table. */
export interface Column {
  title: string
  /** Numbers stand at the right. */
  isNumber?: boolean
}

/**
 * A table that scrolls sideways where it is wider than the screen; a reader without a mouse can move it too.
 * @param rows the first cell of each is the row's heading
 */
export function table(
  caption: string,
  columns: readonly Column[],
  rows: readonly (readonly Piece[])[],
): Markup {
  const align = (column: number): Piece => columns[column]?.isNumber === true && markup` class="number"`
  return markup`<div class="scroll" tabindex="0" role="region" aria-label="${caption}"><table>
<thead><tr>${columns.map(({ title }, i) => markup`<th scope="col"${align(i)}>${title}</th>`)}</tr></thead>
<tbody>${rows.map(
    ([head, ...cells]) =>
      markup`<tr><th scope="row">${head ?? ''}</th>${cells.map((cell, i) => markup`<td${align(i + 1)}>${cell}</td>`)}</tr>
`,
  )}</tbody></table></div>`
}
