// Letters for the test charts, of our own design: six dots wide with their space, seven high, slab feet on I and 1.

import type { Canvas } from './signal-picture.ts'

const GLYPH_DOTS = 5
/** Dots from letter to letter. */
export const LETTER_PITCH = 6
export const LETTER_SCANLINES = 7

/** Letters side by side, as they look; each takes LETTER_PITCH columns. */
// prettier-ignore
const STRIPS: readonly { letters: string; rows: readonly string[] }[] = [
  {
    letters: 'ABCDEFGHIJKLM',
    rows: [
      ' ##   ###    ###  ###   ##### #####  ###  #   #  ###    ### #   # #     #   # ',
      '#  #  #  #  #     #  #  #     #     #     #   #   #      #  #  #  #     ## ## ',
      '#   # #  #  #     #   # #     #     #     #   #   #      #  # #   #     # # # ',
      '#   # ####  #     #   # ####  ####  #  ## #####   #      #  ##    #     # # # ',
      '##### #   # #     #   # #     #     #   # #   #   #      #  # #   #     #   # ',
      '#   # #   # #     #   # #     #     #   # #   #   #   #  #  #  #  #     #   # ',
      '#   # ####   ###  ####  ##### #      #### #   #  ###   ##   #   # ##### #   # ',
    ],
  },
  {
    letters: 'NOPQRSTUVWXYZ',
    rows: [
      '#   #  ###  ###    ###  ###    #### ##### #   # #   # #   # #   # #   # ##### ',
      '##  # #   # #  #  #   # #  #  #       #   #   # #   # #   # #   # #   #     # ',
      '##  # #   # #   # #   # #   # #       #   #   # #   # #   #  # #  #   #    #  ',
      '# # # #   # ####  #   # ####   ###    #   #   #  # #  # # #   #    ###   ###  ',
      '#  ## #   # #     # # # # #       #   #   #   #  # #  # # #  # #    #    #    ',
      '#  ## #   # #     #  ## #  #      #   #   #   #   #   ## ## #   #   #   #     ',
      '#   #  ###  #      #### #   # ####    #    ###    #   #   # #   #   #   ##### ',
    ],
  },
  {
    letters: '0123456789.-:',
    rows: [
      ' ###    #    ###  ####     #  #####  ##   #####  ###   ###                    ',
      '#   #  ##   #   #     #   ##  #     #         # #   # #   #               #   ',
      '#  ##   #       #     #  # #  ####  #        #  #   # #   #               #   ',
      '# # #   #      #   ###  #  #      # ####    #    ###   ####        ###        ',
      '##  #   #     #       # #####     # #   #   #   #   #     #                   ',
      '#   #   #    #        #    #  #   # #   #   #   #   #    #    #           #   ',
      ' ###   ###  ##### ####     #   ###   ###    #    ###   ##     #           #   ',
    ],
  },
]

/** Rows of a letter, bit 4 is its left column. */
const LETTERS: ReadonlyMap<string, readonly number[]> = new Map(
  STRIPS.flatMap(({ letters, rows }) =>
    [...letters].map((letter, place): [string, number[]] => [
      letter,
      rows.map((row) => {
        const cells = row.slice(place * LETTER_PITCH, place * LETTER_PITCH + GLYPH_DOTS)
        return [...cells].reduce((bits, cell) => bits * 2 + (cell === '#' ? 1 : 0), 0)
      }),
    ]),
  ),
)

/** Writes capitals, digits, `.`, `-`, `:`; other characters are spaces. Each row of a letter takes `tall` scanlines. */
export function letterOn(
  canvas: Canvas,
  text: string,
  left: number,
  top: number,
  code: number,
  tall = 1,
): void {
  ;[...text].forEach((letter, place) => {
    LETTERS.get(letter)?.forEach((bits, row) => {
      for (let column = 0; column < GLYPH_DOTS; column++) {
        if (!((bits >> (GLYPH_DOTS - 1 - column)) & 1)) continue
        for (let y = 0; y < tall; y++)
          canvas.dot(left + place * LETTER_PITCH + column, top + row * tall + y, code)
      }
    })
  })
}
