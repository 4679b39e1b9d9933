// Which channel carries what, from names, pin numbers and the user's own map. What stays unnamed is left for
// sync/sync-by-behaviour.ts: names are all that this file knows.

import { CaptureError } from '../errors.ts'
import type { NoticeList } from '../notices.ts'
import type { Channel } from './capture-header.ts'
import { ROLES, type Role } from './role.ts'

/** 9-pin connectors whose pin numbers give roles. */
export const CONNECTORS = ['mda', 'cga', 'ega'] as const
export type Connector = (typeof CONNECTORS)[number]

/** One entry of the user's map: a role and the name (or number, from 0) of the channel that has it. */
export interface RoleAssignment {
  role: string
  channel: string
}

/**
 * Pins of the 9-pin connectors. Monochrome: IBM Monochrome Display and Printer Adapter; colour: IBM 5150
 * Technical Reference (6025005), colour/graphics adapter; enhanced: IBM Enhanced Graphics Adapter, p. 83.
 */
const PIN_ROLES: Readonly<Record<Connector, Readonly<Record<number, Role>>>> = {
  mda: { 6: 'intensity', 7: 'video', 8: 'hsync', 9: 'vsync' },
  cga: { 3: 'red', 4: 'green', 5: 'blue', 6: 'intensity', 8: 'hsync', 9: 'vsync' },
  ega: {
    2: 'secondary-red',
    3: 'red',
    4: 'green',
    5: 'blue',
    6: 'secondary-green',
    7: 'secondary-blue',
    8: 'hsync',
    9: 'vsync',
  },
}

/** Names that people type, folded to lower case with signs removed. Common practice. */
const NAME_ROLES: ReadonlyMap<string, Role> = new Map(
  (
    [
      ['hsync', 'h hs hsync hsyn horsync horizontalsync hsyncn nhsync'],
      ['vsync', 'v vs vsync vsyn vertsync verticalsync vsyncn nvsync'],
      ['csync', 'csync compsync compositesync csyncn ncsync sync'],
      ['red', 'r red r1 primaryred pr red1'],
      ['green', 'g green g1 primarygreen pg green1 grn'],
      ['blue', 'b blue b1 primaryblue pb blue1 blu'],
      ['intensity', 'i int intens intensity bright'],
      ['secondary-red', 'r0 secondaryred sr red0'],
      ['secondary-green', 'g0 secondarygreen sg green0'],
      ['secondary-blue', 'b0 secondaryblue sb blue0'],
      ['video', 'video vid monovideo mono'],
      ['display-enable', 'de den displayenable dispen'],
      ['dot-clock', 'dotclock dotclk pixelclock pclk dclk'],
    ] satisfies [Role, string][]
  ).flatMap(([role, names]) => names.split(' ').map((name): [string, Role] => [name, role])),
)

const SECONDARY: Partial<Record<Role, Role>> = {
  red: 'secondary-red',
  green: 'secondary-green',
  blue: 'secondary-blue',
}

/** What the names say. `roles[i]` belongs to channel i. */
export interface NamedRoles {
  roles: (Role | null)[]
  /** Channels whose role the user gave; behaviour must not overrule these. */
  fixed: boolean[]
}

/**
 * @param connector makes `pin3` mean what pin 3 of that connector carries
 * @param map the user's own assignments; they win over names
 * @throws {CaptureError} CHANNEL_ROLE_UNKNOWN, CHANNEL_NOT_FOUND, CHANNEL_ROLE_TWICE for a wrong map
 */
export function rolesFromNames(
  channels: readonly Channel[],
  notices: NoticeList,
  connector?: Connector,
  map: readonly RoleAssignment[] = [],
): NamedRoles {
  const roles: (Role | null)[] = channels.map(() => null)
  const fixed = channels.map(() => false)
  for (const { role, channel } of map) assign(channels, roles, fixed, role, channel)
  const bothCases = hasBothCases(channels)
  const taken = new Set(roles.filter((role) => role !== null))
  channels.forEach((channel, index) => {
    if (roles[index] !== null) return
    const role = roleOf(channel, bothCases, connector, notices)
    if (role === null || taken.has(role)) return
    roles[index] = role
    taken.add(role)
  })
  return { roles, fixed }
}

function assign(
  channels: readonly Channel[],
  roles: (Role | null)[],
  fixed: boolean[],
  roleName: string,
  channelName: string,
): void {
  const role = ROLES.find((known) => known === roleName.toLowerCase())
  if (!role) {
    throw new CaptureError(
      'CHANNEL_ROLE_UNKNOWN',
      `no role is called "${roleName}"`,
      {},
      {
        hint: `roles are: ${ROLES.join(' ')}`,
      },
    )
  }
  const index = findChannel(channels, channelName)
  if (index < 0) {
    const names = channels.slice(0, 24).map((channel) => channel.name)
    const more = channels.length > names.length ? ` and ${channels.length - names.length} more` : ''
    throw new CaptureError(
      'CHANNEL_NOT_FOUND',
      `the capture has no channel "${channelName}"`,
      {},
      {
        hint: `its channels are: ${names.join(' ')}${more}`,
      },
    )
  }
  if (roles[index] !== null || roles.includes(role)) {
    throw new CaptureError(
      'CHANNEL_ROLE_TWICE',
      `"${roleName}=${channelName}" gives a role or a channel twice`,
      {},
      {
        hint: 'name each role and each channel once',
      },
    )
  }
  roles[index] = role
  fixed[index] = true
}

function findChannel(channels: readonly Channel[], wanted: string): number {
  const exact = channels.findIndex((channel) => channel.name === wanted || channel.aliases.includes(wanted))
  if (exact >= 0) return exact
  const lower = wanted.toLowerCase()
  const loose = channels.flatMap((channel, index) =>
    channel.name.toLowerCase() === lower || channel.aliases.some((alias) => alias.toLowerCase() === lower)
      ? [index]
      : [],
  )
  return loose.length === 1 ? loose[0]! : -1
}

/** `R` and `r` are two wires only where both stand on probes of one capture. */
function hasBothCases(channels: readonly Channel[]): boolean {
  const names = new Set(channels.map((channel) => lastPart(channel.name)))
  return ['R', 'G', 'B'].some((letter) => names.has(letter) && names.has(letter.toLowerCase()))
}

function lastPart(name: string): string {
  return name.slice(name.lastIndexOf('.') + 1)
}

function roleOf(
  channel: Channel,
  bothCases: boolean,
  connector: Connector | undefined,
  notices: NoticeList,
): Role | null {
  if (channel.bus) return roleOfBusBit(channel, notices)
  for (const name of [channel.name, ...channel.aliases]) {
    const role = roleOfName(lastPart(name), bothCases, connector)
    if (role) return role
  }
  return null
}

/** `red[1:0]`: the top bit is the primary, the next the secondary, deeper ones do not fit a TTL connector. */
function roleOfBusBit(channel: Channel, notices: NoticeList): Role | null {
  const { name, bit, widthBits } = channel.bus!
  const role = NAME_ROLES.get(fold(lastPart(name)))
  if (!role || !(role in SECONDARY)) return widthBits === 1 ? (role ?? null) : null
  const place = widthBits - 1 - bit
  if (place === 0) return role
  if (place === 1) return SECONDARY[role] ?? null
  notices.add('COLOUR_BITS_IGNORED', () => `"${name}" has ${widthBits} bits; the two highest are used`)
  return null
}

function fold(name: string): string {
  return name.toLowerCase().replace(/[^a-z0-9]/g, '')
}

function roleOfName(name: string, bothCases: boolean, connector: Connector | undefined): Role | null {
  if (bothCases && /^[rgb]$/.test(name)) return SECONDARY[NAME_ROLES.get(name)!] ?? null
  const pin = /^(?:pin|p)[\s_-]*([1-9])$/i.exec(name)
  if (pin) return connector ? (PIN_ROLES[connector][Number(pin[1])] ?? null) : null
  const whole = NAME_ROLES.get(fold(name))
  if (whole) return whole
  // `D0: HSYNC`, `CH1 red`, `vga_hsync`: one telling word among labels of the instrument
  const words = name.split(/[^A-Za-z0-9]+/).filter((word) => word !== '')
  const telling = words
    .filter((word) => word.length > 1 || words.length === 2)
    .flatMap((word) => {
      const role = NAME_ROLES.get(word.toLowerCase())
      return role && !/^[rgb][01]$/i.test(word) ? [role] : []
    })
  return telling.length === 1 ? telling[0]! : null
}
