import { describe, expect, it, test } from 'vitest'
import fc from 'fast-check'
import { ROLES, type Role } from '../../src/capture/role.ts'
import { CaptureError } from '../../src/errors.ts'
import {
  PALETTE_NAMES,
  choosePalette,
  paletteByName,
  paletteFromColours,
  type Palette,
} from '../../src/picture/palette.ts'

/** Colour of a dot whose listed wires are high, as RRGGBB. */
function colour(palette: Palette, roles: readonly (Role | null)[], ...high: Role[]): string {
  const code = roles.reduce(
    (bits, role, i) => (role !== null && high.includes(role) ? bits | (1 << i) : bits),
    0,
  )
  return hex(palette, code)
}

function hex({ entries }: Palette, code: number): string {
  return [...entries.subarray(3 * code, 3 * code + 3)]
    .map((part) => part.toString(16).padStart(2, '0'))
    .join('')
    .toUpperCase()
}

const RGBI: readonly Role[] = ['red', 'green', 'blue', 'intensity']
const SIX: readonly Role[] = ['red', 'green', 'blue', 'secondary-red', 'secondary-green', 'secondary-blue']

/** Wires that are high in a published colour number, listed from bit 0 up. */
function wiresOf(number: number, fromBit0: readonly Role[]): Role[] {
  return fromBit0.filter((_, bit) => ((number >> bit) & 1) === 1)
}

describe('RGBI', () => {
  // INT10H colour study (2022), canonical values; index = I R G B
  const canonical = (
    '000000 0000AA 00AA00 00AAAA AA0000 AA00AA AA5500 AAAAAA ' +
    '555555 5555FF 55FF55 55FFFF FF5555 FF55FF FFFF55 FFFFFF'
  ).split(' ')
  const fromBit0: readonly Role[] = ['blue', 'green', 'red', 'intensity']

  test.each(canonical.map((rgb, number) => ({ number, rgb })))(
    'colour $number is $rgb',
    ({ number, rgb }) => {
      const palette = choosePalette(RGBI, null, 'rgbrgb')
      expect(palette.name).toBe('rgbi')
      expect(colour(palette, RGBI, ...wiresOf(number, fromBit0))).toBe(rgb)
    },
  )

  it('keeps dark yellow on request, and changes nothing else', () => {
    const brown = paletteByName('rgbi', RGBI)
    const yellow = paletteByName('rgbi-no-brown', RGBI)
    const differing = canonical
      .map((_, code) => code)
      .filter((code) => hex(brown, code) !== hex(yellow, code))
    expect(differing).toHaveLength(1)
    expect(colour(yellow, RGBI, 'red', 'green')).toBe('AAAA00')
  })
})

describe('rgbRGB', () => {
  // IBM Enhanced Graphics Adapter manual: bits r g b R G B from 5 down; 2/3 and 1/3 weights are common practice
  const published: [number, string][] = [
    [0x00, '000000'],
    [0x01, '0000AA'],
    [0x06, 'AAAA00'],
    [0x07, 'AAAAAA'],
    [0x08, '000055'],
    [0x14, 'AA5500'],
    [0x20, '550000'],
    [0x2d, 'FF00FF'],
    [0x38, '555555'],
    [0x3e, 'FFFF55'],
    [0x3f, 'FFFFFF'],
  ]
  const fromBit0: readonly Role[] = [
    'blue',
    'green',
    'red',
    'secondary-blue',
    'secondary-green',
    'secondary-red',
  ]
  test.each(published)('code %i is %s', (number, rgb) => {
    const palette = choosePalette(SIX, { colour: 'rgbrgb', activeScanlines: 350 }, 'rgbi')
    expect(palette.name).toBe('rgbrgb')
    expect(colour(palette, SIX, ...wiresOf(number, fromBit0))).toBe(rgb)
  })

  it('makes 64 different colours', () => {
    const palette = paletteByName('rgbrgb', SIX)
    expect(new Set(Array.from({ length: 64 }, (_, code) => hex(palette, code))).size).toBe(64)
  })

  it('gives two bits per colour of a VGA the levels 0, 1/3, 2/3, 1', () => {
    const palette = choosePalette(SIX, { colour: 'analog', activeScanlines: 480 }, 'rgbi')
    expect(colour(palette, SIX, 'secondary-red')).toBe('550000')
    expect(colour(palette, SIX, 'red')).toBe('AA0000')
    expect(colour(palette, SIX, 'red', 'secondary-red')).toBe('FF0000')
  })
})

describe('six wires in a 200-line mode', () => {
  const mode = { colour: 'rgbrgb', activeScanlines: 200 } as const
  it('reads secondary green as intensity, makes brown, and says what it leaves out', () => {
    const palette = choosePalette(SIX, mode, 'rgbrgb')
    expect(palette.name).toBe('rgbi')
    // IBM EGA manual: 200-line palette codes are 00-07 and 10-17 hex, bit 4 being the intensity wire
    expect(colour(palette, SIX, 'secondary-green')).toBe('555555')
    expect(colour(palette, SIX, 'red', 'green')).toBe('AA5500')
    expect(colour(palette, SIX, 'red', 'green', 'secondary-green')).toBe('FFFF55')
    expect(colour(palette, SIX, 'blue', 'secondary-red', 'secondary-blue')).toBe('0000AA')
    expect(palette.note).toContain('secondary-red, secondary-blue')
  })

  it('follows the caller where no mode is known', () => {
    expect(choosePalette(SIX, null, 'rgbi').name).toBe('rgbi')
    expect(choosePalette(SIX, null, 'rgbrgb').name).toBe('rgbrgb')
  })
})

describe('mono', () => {
  const pair: readonly Role[] = ['video', 'intensity']
  it('has four levels', () => {
    const palette = choosePalette(pair, { colour: 'mono', activeScanlines: 350 }, 'rgbi')
    expect(
      [[], ['intensity'], ['video'], ['video', 'intensity']].map((high) =>
        colour(palette, pair, ...(high as Role[])),
      ),
    ).toEqual(['000000', '555555', 'AAAAAA', 'FFFFFF'])
    expect(palette.note).toContain('dim')
  })

  it('finds the pair on the wires of an EGA (pin 7 = video, pin 6 = intensity)', () => {
    const palette = choosePalette(SIX, { colour: 'mono', activeScanlines: 350 }, 'rgbi')
    expect(palette.name).toBe('mono')
    expect(colour(palette, SIX, 'secondary-blue')).toBe('AAAAAA')
    expect(colour(palette, SIX, 'secondary-blue', 'secondary-green')).toBe('FFFFFF')
    expect(colour(palette, SIX, 'red')).toBe('000000')
  })
})

describe('other wires', () => {
  it('drives three colour wires fully', () => {
    const roles: readonly Role[] = ['green', 'red', 'blue']
    const palette = choosePalette(roles, null, 'rgbi')
    expect(palette.name).toBe('rgb')
    expect(colour(palette, roles, 'red', 'blue')).toBe('FF00FF')
    expect(colour(palette, roles, 'green')).toBe('00FF00')
  })

  it('uses greys when no channel has a name, all different, and says so', () => {
    const palette = choosePalette([null, null, null], null, 'rgbi')
    const greys = Array.from({ length: 8 }, (_, code) => hex(palette, code))
    expect(greys[0]).toBe('000000')
    expect(greys[7]).toBe('FFFFFF')
    expect(new Set(greys).size).toBe(8)
    expect(palette.note).toContain('no names')
  })

  it('leaves out a channel without a name among named ones', () => {
    const roles = [...RGBI, null]
    const palette = choosePalette(roles, null, 'rgbi')
    for (let code = 0; code < 16; code++) expect(hex(palette, code | 16)).toBe(hex(palette, code))
    expect(palette.note).toContain('without a name')
  })

  it('has an entry for every code of any set of channels, and depends on roles, not on their order', () => {
    const roles = fc.uniqueArray(fc.constantFrom(...ROLES), { maxLength: 8 })
    fc.assert(
      fc.property(roles, fc.constantFrom('rgbi', 'rgbrgb'), (some, use) => {
        const palette = choosePalette(some, null, use)
        expect(palette.entries).toHaveLength(3 * 2 ** some.length)
        if (palette.name === 'grey') return
        const backward = [...some].reverse()
        const other = choosePalette(backward, null, use)
        for (let code = 0; code < 2 ** some.length; code++) {
          const high = some.filter((_, i) => ((code >> i) & 1) === 1)
          expect(colour(other, backward, ...high)).toBe(hex(palette, code))
        }
      }),
    )
  })

  it('refuses more channels than a dot code has bits', () => {
    expect(() => choosePalette(Array<null>(17).fill(null), null, 'rgbi')).toThrow(RangeError)
    expect(choosePalette(Array<null>(16).fill(null), null, 'rgbi').entries).toHaveLength(3 * 65_536)
  })
})

describe('palettes by name', () => {
  it('lists the names when one is unknown', () => {
    const call = () => paletteByName('sepia', RGBI)
    expect(call).toThrow(CaptureError)
    expect(call).toThrow(expect.objectContaining({ code: 'PALETTE_UNKNOWN' }))
    for (const name of PALETTE_NAMES) expect(call).toThrow(name)
  })

  it('takes every name it lists, in either case', () => {
    const roles: readonly Role[] = [...SIX, 'intensity', 'video']
    for (const name of PALETTE_NAMES) expect(paletteByName(name.toUpperCase(), roles).name).toBe(name)
  })

  it('gives unnamed channels the roles of the palette in order', () => {
    const palette = paletteByName('rgbi', [null, null, null, null])
    expect(hex(palette, 0b0001)).toBe('AA0000')
    expect(hex(palette, 0b1010)).toBe('55FF55')
    expect(palette.note).toContain('red, green, blue, intensity')
  })

  it('refuses a palette that no channel feeds, instead of a black picture', () => {
    expect(() => paletteByName('mono', ['red', 'green', 'blue'])).toThrow(
      expect.objectContaining({ code: 'VIDEO_NOT_FOUND' }),
    )
  })
})

describe("the user's own colours", () => {
  it('go by colour number, not by channel order', () => {
    const amber = ['000000', '#3a2200', '805000', 'FFB000']
    const roles: readonly Role[] = ['intensity', 'video']
    const palette = paletteFromColours(amber, roles, null, 'rgbi')
    expect(colour(palette, roles, 'video')).toBe('805000')
    expect(colour(palette, roles, 'intensity')).toBe('3A2200')
    expect(colour(palette, roles, 'video', 'intensity')).toBe('FFB000')
  })

  it('go by dot code for channels without names', () => {
    const palette = paletteFromColours(['010203', '040506', '070809', '0A0B0C'], [null, null], null, 'rgbi')
    expect([0, 1, 2, 3].map((code) => hex(palette, code))).toEqual(['010203', '040506', '070809', '0A0B0C'])
  })

  test.each([
    { what: 'three digits', colours: Array<string>(16).fill('FFF'), says: '"FFF"' },
    { what: 'too few', colours: ['000000', 'FFFFFF'], says: 'need 16' },
  ])('$what are refused with what was expected', ({ colours, says }) => {
    const call = () => paletteFromColours(colours, RGBI, null, 'rgbi')
    expect(call).toThrow(expect.objectContaining({ code: 'PALETTE_MALFORMED' }))
    expect(call).toThrow(says)
  })
})
