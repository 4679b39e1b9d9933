// Names against behaviour: whose word counts, and what is said about it. On wires made by hand.

import { describe, expect, it } from 'vitest'
import type { Role } from '../../src/capture/role.ts'
import { SignalError } from '../../src/errors.ts'
import { NoticeList } from '../../src/notices.ts'
import { resolveRoles, type ResolvedRoles } from '../../src/sync/resolve-roles.ts'
import { captureOf, hsync, PERIOD, picture, scanlines, vsync, type Pulses } from './hand-made-wires.ts'

interface Resolved extends ResolvedRoles {
  codes: string[]
  said: string
}

/** One wire by its name, `name=role` where the name says a role, `name=role!` where the user does. */
function resolve(
  wires: Readonly<Record<string, Pulses>>,
  { isPlausible = (periodTicks: number): boolean => periodTicks > 0, wideBus = [] as string[] } = {},
): Resolved {
  const names = Object.keys(wires)
  const roles = names.map((name) => (name.split('=')[1]?.replace('!', '') ?? null) as Role | null)
  const notices = new NoticeList()
  const resolved = resolveRoles(
    {
      channels: names.map((name) => ({
        name: name.split('=')[0]!,
        aliases: [],
        bus: wideBus.includes(name) ? { name, bit: 0, widthBits: 16 } : null,
      })),
      named: { roles, fixed: names.map((name) => name.endsWith('!')) } as never,
      ...captureOf(Object.values(wires)),
      gridTicks: 1,
      isPlausible,
    },
    notices,
  )
  return {
    ...resolved,
    codes: notices.list().map(({ code }) => code),
    said: notices
      .list()
      .map(({ message }) => message)
      .join('; '),
  }
}

const composite = (): Pulses =>
  scanlines().map((n) => [n * PERIOD + 50, n * PERIOD + (n % 200 === 1 || n % 200 === 2 ? 550 : 150)])
/** As regular as a card's, at another rate. */
const clock = (period: number): Pulses =>
  Array.from({ length: Math.floor(620_000 / period) }, (_, n) => [
    n * period + 10,
    n * period + 10 + period / 8,
  ])

describe('resolveRoles', () => {
  it('believes names that the signal bears out, and says nothing', () => {
    const named = resolve({ 'H=hsync': hsync(), 'V=vsync': vsync(), 'R=red': picture() })
    expect(named).toMatchObject({
      roles: ['hsync', 'vsync', 'red'],
      scanlineChannel: 0,
      vsyncChannel: 1,
      composite: false,
      proven: true,
      unnamedVideo: [],
      codes: [],
    })
  })

  it('finds both by what they do, and takes what else could be one for picture', () => {
    const found = resolve({ a: picture(), b: vsync(), c: hsync() })
    expect(found).toMatchObject({
      roles: [null, 'vsync', 'hsync'],
      scanlineChannel: 2,
      vsyncChannel: 1,
      proven: true,
      unnamedVideo: [0],
      codes: ['CHANNEL_FOUND_BY_BEHAVIOUR'],
    })
    expect(found.said).toBe(
      '"c" behaves like hsync and is taken for it; "b" behaves like vsync and is taken for it',
    )
    // a wide bus is no picture, and where one wire is named none is taken
    expect(resolve({ a: picture(), b: vsync(), c: hsync() }, { wideBus: ['a'] }).unnamedVideo).toEqual([])
    expect(resolve({ a: picture(), 'x=red': picture(320), b: vsync(), c: hsync() }).unnamedVideo).toEqual([])
    const many = Object.fromEntries(scanlines(10).map((i) => [`p${i}`, picture(300 + 5 * i)]))
    expect(resolve({ ...many, b: vsync(), c: hsync() }).unnamedVideo).toEqual([0, 1, 2, 3, 4, 5, 6, 7])
  })

  it('says where nothing but regularity speaks for hsync', () => {
    const alone = resolve({ c: hsync() })
    expect(alone).toMatchObject({ roles: ['hsync'], vsyncChannel: null, proven: false })
    expect(alone.said).toContain('nothing but its regularity speaks for it')
    expect(resolve({ c: hsync(), p: picture(), q: picture(320) }).said).not.toContain('nothing but')
    expect(resolve({ c: hsync(), v: vsync() }).said).not.toContain('nothing but')
    expect(resolve({ 'H=hsync': hsync() })).toMatchObject({ proven: true, codes: [] })
  })

  it('tells two names that are exchanged', () => {
    const swapped = resolve({ 'H=hsync': vsync(), 'V=vsync': hsync(), 'R=red': picture() })
    expect(swapped).toMatchObject({ roles: ['vsync', 'hsync', 'red'], codes: ['CHANNEL_NAMES_SWAPPED'] })
    expect(swapped.said).toContain('"V" carries hsync and "H" vsync')
  })

  it('doubts a name on a wire that is something else, and gives its role to the one that behaves like it', () => {
    const doubted = resolve({ 'H=hsync': picture(), 'V=vsync': vsync(), x: hsync() })
    expect(doubted).toMatchObject({
      roles: [null, 'vsync', 'hsync'],
      vsyncChannel: 1,
      codes: ['CHANNEL_NAME_DOUBTED'],
    })
    expect(doubted.said).toContain('"H" does not behave like hsync; "x" does and is used')
    // two labels on each other's wires
    const exchanged = resolve({ 'H=hsync': picture(), 'V=vsync': vsync(), 'R=red': hsync() })
    expect(exchanged.roles).toEqual(['red', 'vsync', 'hsync'])
    expect(exchanged.said).toContain('"H" is taken for red: the two labels may be exchanged')
    // not where the other is no picture either
    const anywhere: Pulses = scanlines().map((n) => [
      n * PERIOD + ((n * 377) % 900),
      n * PERIOD + ((n * 377) % 900) + 90,
    ])
    const odd = resolve({ 'H=hsync': anywhere, 'V=vsync': vsync(), 'R=red': hsync() })
    expect(odd.roles).toEqual([null, 'vsync', 'hsync'])
  })

  it('keeps a vsync in trouble, and no picture under its name', () => {
    const none = resolve({ 'H=hsync': hsync(), 'V=vsync': picture() })
    expect(none).toMatchObject({
      roles: ['hsync', null],
      vsyncChannel: null,
      codes: ['CHANNEL_NAME_DOUBTED'],
    })
    expect(none.said).toContain('"V" does not behave like vsync, and no other channel does')
    // pulses nowhere near a frame apart, at no one place
    const trouble: Pulses = [1, 20.3, 45.6, 70.2].map((n) => [n * PERIOD, (n + 2.4) * PERIOD])
    expect(resolve({ 'H=hsync': hsync(), 'V=vsync': trouble })).toMatchObject({
      roles: ['hsync', 'vsync'],
      vsyncChannel: 1,
      codes: [],
    })
    // half of the time high, and at no place: a clock
    const half: Pulses = scanlines(30).map((n) => [n * 20_370, n * 20_370 + 10_000])
    expect(resolve({ 'H=hsync': hsync(), 'V=vsync': half }).vsyncChannel).toBeNull()
    // but the user's word counts
    expect(resolve({ 'H=hsync': hsync(), 'V=vsync!': half }).vsyncChannel).toBe(1)
  })

  it('finds one wire with both syncs by its broad pulses, and says so', () => {
    const both = resolve({ x: composite(), 'R=red': picture() })
    expect(both).toMatchObject({ composite: true, vsyncChannel: null, scanlineChannel: 0 })
    expect(both.codes).toContain('SYNC_COMPOSITE')
    const named = resolve({ 'C=csync': hsync(), 'R=red': picture() })
    expect(named).toMatchObject({ composite: true, proven: true, codes: ['SYNC_COMPOSITE'] })
    // with a vsync beside it, it is hsync
    expect(resolve({ 'H=hsync': hsync(), 'V=vsync': vsync() }).composite).toBe(false)
  })

  it('tells rivals that fit about as well', () => {
    const rival = resolve({ a: hsync(), b: clock(770) })
    expect(rival.codes).toContain('CHANNEL_AMBIGUOUS')
    expect(rival.said).toContain('behaves like hsync as much as')
    const later = vsync().map(([from, to]): [number, number] => [from + 50_000, to + 50_000])
    const two = resolve({ 'H=hsync': hsync(), b: vsync(), c: later })
    expect(two.codes).toContain('CHANNEL_AMBIGUOUS')
    expect(two.said).toContain('"c" behaves like vsync as much as "b", which is used')
    // wherever they are among the channels
    for (const [first, last] of [
      [vsync(), later],
      [later, vsync()],
    ])
      expect(resolve({ one: first!, 'H=hsync': hsync(), two: last! }).said).toMatch(
        /"(one" behaves like vsync as much as "two|two" behaves like vsync as much as "one)"/,
      )
    expect(resolve({ a: hsync(), v: vsync(), b: clock(770) }).codes).not.toContain('CHANNEL_AMBIGUOUS')
  })

  it('doubts a name, whichever channel has it, where no other fits', () => {
    const doubted = '"V" does not behave like vsync, and no other channel does'
    expect(resolve({ 'V=vsync': picture(), 'H=hsync': hsync() }).said).toContain(doubted)
    expect(resolve({ 'H=hsync': hsync(), 'V=vsync': picture() }).said).toContain(doubted)
  })

  it('refuses a beat without a name or a vsync that is not even steady', () => {
    const beating = (share: number): Pulses =>
      scanlines().map((n) => {
        const late = n % 100 >= share ? 150 * (n % 2) : 0
        return [n * PERIOD + 50 + late, n * PERIOD + 150 + late]
      })
    expect(resolve({ x: beating(95) }).scanlineChannel).toBe(0)
    expect(() => resolve({ x: beating(70) })).toThrow(SignalError)
    expect(resolve({ 'H=hsync': beating(70) }).scanlineChannel).toBe(0)
  })

  it('refuses what has no sync, with what may help', () => {
    const hintOf = (wires: Readonly<Record<string, Pulses>>): string | undefined => {
      try {
        resolve(wires)
      } catch (error) {
        return (error as SignalError).hint
      }
      return 'none was thrown'
    }
    expect(hintOf({ 'V=vsync': vsync() })).toContain('probe hsync')
    expect(hintOf({ 'H=hsync': [], 'V=vsync': vsync() })).toContain('"H" never changes')
  })
})
