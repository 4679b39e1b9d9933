// Dot codes -> colours: what a monitor of the period makes of the levels on its wires.

import type { Role } from '../capture/role.ts'
import type { Standard } from '../classify/standard.ts'
import { CaptureError } from '../errors.ts'

/** Most video channels one dot can have: its code is 16 bits. */
export const MAX_PLANES = 16

/** Colours by dot code. */
export interface Palette {
  /** One of the names `paletteByName` takes, or `custom`. */
  name: string
  /** Red, green, blue of code 0, of code 1, …: 3 * 2^planes bytes. */
  entries: Uint8Array
  /** What the reader of the picture should know; null when nothing. */
  note: string | null
}

/** How the wires are read. */
type Reading = 'rgbi' | 'rgbi-no-brown' | 'rgbrgb' | 'rgb' | 'mono' | 'grey'

/** Names that `paletteByName` takes, with the number of colours in each but `grey`. */
const COLOURS_IN: Readonly<Record<Exclude<Reading, 'grey'>, number>> = {
  rgbi: 16,
  'rgbi-no-brown': 16,
  rgbrgb: 64,
  rgb: 8,
  mono: 4,
}
export const PALETTE_NAMES: readonly string[] = [...Object.keys(COLOURS_IN), 'grey']

/** The levels one dot has on the wires that matter, each 0 or 1. */
interface Wires {
  red: number
  green: number
  blue: number
  intensity: number
  red0: number
  green0: number
  blue0: number
  video: number
}

/**
 * Colour numbers, as published palettes count them: RGBI = I R G B from bit 3 down (IBM colour/graphics adapter);
 * rgbRGB = R' G' B' R G B from bit 5 down (IBM Enhanced Graphics Adapter, attribute controller); mono = video above
 * intensity, so that the numbers rise with brightness.
 */
const COLOUR_NUMBER: Readonly<Record<Exclude<Reading, 'grey'>, (wires: Wires) => number>> = {
  rgbi: (w) => (w.intensity << 3) | (w.red << 2) | (w.green << 1) | w.blue,
  'rgbi-no-brown': (w) => (w.intensity << 3) | (w.red << 2) | (w.green << 1) | w.blue,
  rgbrgb: (w) => (w.red0 << 5) | (w.green0 << 4) | (w.blue0 << 3) | (w.red << 2) | (w.green << 1) | w.blue,
  rgb: (w) => (w.red << 2) | (w.green << 1) | w.blue,
  mono: (w) => (w.video << 1) | w.intensity,
}

/** Light of a primary and of a secondary or intensity wire: 2/3 and 1/3 of full scale (common practice). */
const TWO_THIRDS = 0xaa
const ONE_THIRD = 0x55

/** Dark yellow without intensity: the one colour number whose green the monitor halves. */
const DARK_YELLOW = 6

/** Red, green, blue of a colour number. */
function colourOf(reading: Exclude<Reading, 'grey'>, number: number): [number, number, number] {
  const bit = (place: number): number => (number >> place) & 1
  switch (reading) {
    case 'rgbi':
    case 'rgbi-no-brown': {
      const lift = bit(3) * ONE_THIRD
      const [red, green, blue] = [2, 1, 0].map((place) => bit(place) * TWO_THIRDS + lift) as [
        number,
        number,
        number,
      ]
      // INT10H colour study (2022): the monitor turns dark yellow into brown, AA5500
      return number === DARK_YELLOW && reading === 'rgbi' ? [red, green / 2, blue] : [red, green, blue]
    }
    case 'rgbrgb':
      return [2, 1, 0].map((place) => bit(place) * TWO_THIRDS + bit(place + 3) * ONE_THIRD) as [
        number,
        number,
        number,
      ]
    case 'rgb':
      return [bit(2) * 255, bit(1) * 255, bit(0) * 255]
    case 'mono': {
      const grey = bit(1) * TWO_THIRDS + bit(0) * ONE_THIRD
      return [grey, grey, grey]
    }
  }
}

/** Bits of a dot's code that belong to a role; several channels of one role count as one. */
function maskOf(roles: readonly (Role | null)[], role: Role): number {
  return roles.reduce((mask, at, plane) => (at === role ? mask | (1 << plane) : mask), 0)
}

/** Levels on the wires for a dot code, with secondary wires standing in where the reading says so. */
function wiresReader(roles: readonly (Role | null)[], reading: Reading): (code: number) => Wires {
  const mask = (role: Role): number => maskOf(roles, role)
  const secondaryGreen = mask('secondary-green')
  const secondaryBlue = mask('secondary-blue')
  // On the EGA's connector pin 6 is secondary green or intensity, pin 7 secondary blue or mono video (manual p. 83)
  const intensity = mask('intensity') || (reading === 'rgbrgb' ? 0 : secondaryGreen)
  const video = mask('video') || secondaryBlue
  const [red, green, blue, red0] = [mask('red'), mask('green'), mask('blue'), mask('secondary-red')]
  const level = (code: number, bits: number): number => ((code & bits) === 0 ? 0 : 1)
  return (code) => ({
    red: level(code, red),
    green: level(code, green),
    blue: level(code, blue),
    intensity: level(code, intensity),
    red0: level(code, red0),
    green0: level(code, secondaryGreen),
    blue0: level(code, secondaryBlue),
    video: level(code, video),
  })
}

function checkPlanes(roles: readonly (Role | null)[]): void {
  if (roles.length > MAX_PLANES) throw new RangeError(`a dot has at most ${MAX_PLANES} video channels`)
}

/** Entries for all codes, through a table of colours by colour number. */
function entriesOf(
  roles: readonly (Role | null)[],
  reading: Exclude<Reading, 'grey'>,
  colourAt: (number: number) => readonly [number, number, number],
): Uint8Array {
  const codes = 2 ** roles.length
  const entries = new Uint8Array(3 * codes)
  const wires = wiresReader(roles, reading)
  for (let code = 0; code < codes; code++)
    entries.set(colourAt(COLOUR_NUMBER[reading](wires(code))), 3 * code)
  return entries
}

/** Grey by plane order: the last channel weighs most, as in a binary number. */
function greyEntries(planes: number): Uint8Array {
  const codes = 2 ** planes
  const entries = new Uint8Array(3 * codes)
  for (let code = 1; code < codes; code++) {
    entries.fill(Math.round((255 * code) / (codes - 1)), 3 * code, 3 * code + 3)
  }
  return entries
}

/** What matters of a standard here. */
export type PaletteStandard = Pick<Standard, 'colour' | 'activeScanlines'>

/** An EGA-type card draws 200 scanlines for a monitor that reads RGBI, 350 for one that reads rgbRGB. */
const MOST_RGBI_SCANLINES = 240

function readingOf(
  roles: readonly (Role | null)[],
  standard: PaletteStandard | null,
  secondaryUse: 'rgbi' | 'rgbrgb',
): Reading {
  const has = (role: Role): boolean => roles.includes(role)
  const secondaries = has('secondary-red') || has('secondary-green') || has('secondary-blue')
  const colours = secondaries || has('red') || has('green') || has('blue')
  // six-wire cards drive a mono monitor on the wires of secondary green and blue
  if (standard?.colour === 'mono' && (has('video') || has('secondary-blue'))) return 'mono'
  if (!colours) return has('video') || has('intensity') ? 'mono' : 'grey'
  if (!secondaries) return has('intensity') ? 'rgbi' : 'rgb'
  let use = secondaryUse
  if (standard?.colour === 'rgbi') use = 'rgbi'
  else if (standard?.colour === 'rgbrgb')
    use = standard.activeScanlines <= MOST_RGBI_SCANLINES ? 'rgbi' : 'rgbrgb'
  else if (standard) use = 'rgbrgb'
  if (use === 'rgbrgb') return 'rgbrgb'
  return has('secondary-green') || has('intensity') ? 'rgbi' : 'rgb'
}

/** Roles that each reading looks at. */
const ROLES_READ: Readonly<Record<Exclude<Reading, 'grey'>, readonly Role[]>> = {
  rgbi: ['red', 'green', 'blue', 'intensity'],
  'rgbi-no-brown': ['red', 'green', 'blue', 'intensity'],
  rgbrgb: ['red', 'green', 'blue', 'secondary-red', 'secondary-green', 'secondary-blue'],
  rgb: ['red', 'green', 'blue'],
  mono: ['video', 'intensity'],
}

function noteOn(roles: readonly (Role | null)[], reading: Reading): string | null {
  if (reading === 'grey') {
    return roles.length > 1
      ? 'The colour channels have no names: greys stand for colours, the last channel weighs most.'
      : null
  }
  const sentences: string[] = []
  const read = new Set<Role>(ROLES_READ[reading])
  const fourth = reading === 'rgbi' || reading === 'rgbi-no-brown' || reading === 'mono'
  if (fourth && !roles.includes('intensity') && roles.includes('secondary-green')) {
    read.add('secondary-green')
    sentences.push('Secondary green is read as intensity.')
  }
  if (reading === 'mono' && !roles.includes('video') && roles.includes('secondary-blue')) {
    read.add('secondary-blue')
    sentences.push('Secondary blue is read as mono video.')
  }
  if (reading === 'rgbi') sentences.push('Dark yellow is drawn as brown, as the monitor does it.')
  if (reading === 'mono' && roles.length > 1) {
    sentences.push('Intensity without video is drawn dim; some monitors show black.')
  }
  const ignored = roles.filter((role) => role !== null && !read.has(role))
  if (ignored.length > 0) sentences.push(`Not looked at: ${ignored.join(', ')}.`)
  const unnamed = roles.filter((role) => role === null).length
  if (unnamed > 0) sentences.push(`Channels without a name and not looked at: ${unnamed}.`)
  return sentences.length > 0 ? sentences.join(' ') : null
}

function paletteOf(roles: readonly (Role | null)[], reading: Reading): Palette {
  checkPlanes(roles)
  const entries =
    reading === 'grey'
      ? greyEntries(roles.length)
      : entriesOf(roles, reading, (number) => colourOf(reading, number))
  return { name: reading, entries, note: noteOn(roles, reading) }
}

/**
 * The palette a monitor of the mode would use.
 *
 * With six colour wires the mode decides: 200 scanlines are read as RGBI (secondary green acts as intensity), 350 as
 * rgbRGB. Channels without a name give greys when none has one, and are left out otherwise.
 *
 * @param roles role of bit i of a dot's code, null = no name; at most 16
 * @param standard the mode, null when none matched
 * @param secondaryUse how to read secondary wires when `standard` is null; on an EGA positive vsync means `rgbi`
 * @throws {RangeError} more than 16 channels
 */
export function choosePalette(
  roles: readonly (Role | null)[],
  standard: PaletteStandard | null,
  secondaryUse: 'rgbi' | 'rgbrgb',
): Palette {
  return paletteOf(roles, readingOf(roles, standard, secondaryUse))
}

function isReading(name: string): name is Reading {
  return PALETTE_NAMES.includes(name)
}

/**
 * A palette the user asked for by name, whatever the mode.
 *
 * Where no channel has a role the palette looks at, channels without a name take those roles in the order
 * red, green, blue, intensity (rgbrgb: the secondaries instead; mono: video, intensity).
 *
 * @throws {CaptureError} PALETTE_UNKNOWN; VIDEO_NOT_FOUND when no channel can be what the palette looks at
 * @throws {RangeError} more than 16 channels
 */
export function paletteByName(name: string, roles: readonly (Role | null)[]): Palette {
  const wanted = name.toLowerCase()
  if (!isReading(wanted)) {
    throw new CaptureError(
      'PALETTE_UNKNOWN',
      `no palette is called ${JSON.stringify(name)}; known are ${PALETTE_NAMES.join(', ')}`,
      {},
      { hint: 'give one of these names, or a file with the colours' },
    )
  }
  if (wanted === 'grey') return paletteOf(roles, wanted)
  const wires = wiresReader(roles, wanted)(2 ** roles.length - 1)
  if (COLOUR_NUMBER[wanted](wires) > 0) return paletteOf(roles, wanted)
  const looksAt = ROLES_READ[wanted]
  if (!roles.includes(null)) {
    throw new CaptureError(
      'VIDEO_NOT_FOUND',
      `palette ${wanted} looks at ${looksAt.join(', ')}; no channel has one of these roles`,
      {},
      { hint: 'name the channels with --map, or choose another palette' },
    )
  }
  let next = 0
  const assumed = roles.map((role) => (role === null ? (looksAt[next++] ?? null) : role))
  const palette = paletteOf(assumed, wanted)
  const note = 'Channels without a name are taken in order as ' + looksAt.slice(0, next).join(', ') + '.'
  return { ...palette, note: palette.note === null ? note : `${note} ${palette.note}` }
}

const HEX_COLOUR = /^#?([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i

/**
 * A palette from the user's own colours, in the order of the published colour numbers: 4 for mono (video above
 * intensity), 8 for RGB, 16 for RGBI (I R G B), 64 for rgbRGB, 2^planes by dot code for channels without names.
 *
 * @param colours `RRGGBB`, with or without `#`
 * @throws {CaptureError} PALETTE_MALFORMED for a colour that is none, or a number of colours that does not fit
 * @throws {RangeError} more than 16 channels
 */
export function paletteFromColours(
  colours: readonly string[],
  roles: readonly (Role | null)[],
  standard: PaletteStandard | null,
  secondaryUse: 'rgbi' | 'rgbrgb',
): Palette {
  checkPlanes(roles)
  const table = colours.map((text, i): [number, number, number] => {
    const parts = HEX_COLOUR.exec(text.trim())
    if (!parts) {
      throw new CaptureError(
        'PALETTE_MALFORMED',
        `colour ${i} of the palette is ${JSON.stringify(text)}, expected six hexadecimal digits`,
        {},
        { hint: 'write colours as RRGGBB, for example AA5500' },
      )
    }
    return [parseInt(parts[1]!, 16), parseInt(parts[2]!, 16), parseInt(parts[3]!, 16)]
  })
  const reading = readingOf(roles, standard, secondaryUse)
  const expected = reading === 'grey' ? 2 ** roles.length : COLOURS_IN[reading]
  if (table.length !== expected) {
    throw new CaptureError(
      'PALETTE_MALFORMED',
      `the palette has ${table.length} colours, these channels are read as ${reading} and need ${expected}`,
      {},
      { hint: `list ${expected} colours, in the order of their colour numbers` },
    )
  }
  const entries =
    reading === 'grey' ? Uint8Array.from(table.flat()) : entriesOf(roles, reading, (number) => table[number]!)
  return { name: 'custom', entries, note: null }
}
