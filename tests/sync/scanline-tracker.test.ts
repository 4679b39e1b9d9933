// Sync edges by hand → what is told of scanlines. Scanlines last 1000 ticks, pulses 100, samples 10.

import { describe, expect, it } from 'vitest'
import { ScanlineTracker } from '../../src/sync/scanline-tracker.ts'
import type { SyncFault } from '../../src/sync/sync-fault.ts'
import { newRandom } from '../support/random.ts'

const PERIOD = 1000
const WIDTH = 100

type Pulse = readonly [number, number]

interface Told {
  scanlines: [number, number][]
  widths: number[]
  regular: boolean[]
  faults: SyncFault[]
  events: string[]
  settled: number
}

interface Setup {
  channel?: 'hsync' | 'csync'
  polarity?: 'positive' | 'negative'
  start?: number
  end?: number
  isVsyncAbout?: boolean
}

function track(
  pulses: readonly Pulse[],
  { channel = 'hsync', polarity = 'positive', start = 0, end = NaN, isVsyncAbout = false }: Setup = {},
): Told {
  const told: Told = { scanlines: [], widths: [], regular: [], faults: [], events: [], settled: 0 }
  const tracker = new ScanlineTracker(channel, start, 10, {
    timingStarted: (timing, tick) =>
      void told.events.push(`timing ${Math.round(timing.periodTicks)} ${timing.polarity} at ${tick}`),
    phaseBroken: (tick) => void told.events.push(`phase at ${tick}`),
    lockLost: (tick) => void told.events.push(`lost at ${tick}`),
    lockResumed: () => void told.events.push('resumed'),
    scanline: (number, tick, width, regular) => {
      told.scanlines.push([number, tick])
      told.widths.push(width)
      told.regular.push(regular)
    },
    fault: (fault) => void told.faults.push(fault),
    broadPulse: (lead, trail) => void told.events.push(`broad ${lead} to ${trail}`),
    endNotJudged: (which, scanlines) => void told.events.push(`${which} ${scanlines} not judged`),
    isVsyncAbout: () => isVsyncAbout,
  })
  const high = polarity === 'positive' ? 1 : 0
  for (const [lead, trail] of pulses) {
    tracker.push(lead, high)
    tracker.push(trail, 1 - high)
  }
  tracker.end(Number.isNaN(end) ? pulses.at(-1)![1] + 700 : end)
  told.settled = tracker.settledTick
  return told
}

/** Leading edges that are true lie at 50 past the thousands. */
const line = (n: number): Pulse => [n * PERIOD + 50, n * PERIOD + 50 + WIDTH]
const lines = (count: number, from = 0): Pulse[] => Array.from({ length: count }, (_, i) => line(from + i))
const changed = (count: number, changes: Readonly<Record<number, readonly Pulse[]>>): Pulse[] =>
  lines(count).flatMap((pulse, n) => changes[n] ?? [pulse])
const at = (n: number, from: number, to: number): Pulse => [n * PERIOD + from, n * PERIOD + to]
const brief = ({ faults }: Told): string[] =>
  faults.map(({ kind, scanline, lineCountError }) => `${kind} ${scanline} ${lineCountError}`)

describe('ScanlineTracker', () => {
  it.each(['positive', 'negative'] as const)('numbers the scanlines of a clean sync, %s', (polarity) => {
    const told = track(lines(300), { polarity })
    expect(told.events).toEqual([`timing 1000 ${polarity} at 50`])
    expect(told.scanlines).toEqual(lines(300).map(([tick], n) => [n, tick]))
    expect(new Set(told.widths)).toEqual(new Set([WIDTH]))
    expect(told.regular.every(Boolean)).toBe(true)
    expect(told.faults).toEqual([])
  })

  it('tells a missing pulse where it was expected', () => {
    const told = track(changed(300, { 200: [], 210: [] }))
    expect(brief(told)).toEqual(['missing 200 -1', 'missing 210 -1'])
    expect(Math.abs(told.faults[0]!.tick - 200_045)).toBeLessThan(10)
    expect(told.faults[0]).toMatchObject({ widthTicks: 0, offsetTicks: 0, channel: 'hsync' })
    expect(told.scanlines).toHaveLength(298)
    expect(told.scanlines.at(-1)).toEqual([299, 299_050])
  })

  it('tells a false pulse by the true one before it', () => {
    const told = track(
      changed(300, { 200: [line(200), at(200, 400, 430)], 203: [at(203, -300, -250), line(203)] }),
    )
    expect(brief(told)).toEqual(['extra 200 1', 'extra 203 1'])
    expect(told.faults[0]).toMatchObject({
      tick: 200_400,
      widthTicks: 30,
      sinceTrueTicks: 350,
      rejectWidthTicks: 30,
    })
    // it is nearer to the next scanline than to the one it follows
    expect(told.faults[1]!.sinceTrueTicks).toBe(1000 - 350)
    expect(told.scanlines).toHaveLength(300)
  })

  it('from the first scanline on', () => {
    for (const channel of ['hsync', 'csync'] as const) {
      const told = track(
        changed(300, {
          0: [line(0), at(0, 400, 430)],
          1: [line(1), at(1, 400, 430)],
          2: [at(2, 50, 99)],
          3: [],
        }),
        { channel },
      )
      const first = channel === 'hsync' ? ['extra 0 1', 'extra 1 1', 'short 2 0'] : ['extra 0 1', 'extra 1 1']
      expect(brief(told)).toEqual([...first, 'missing 3 -1'])
    }
  })

  it('puts a pulse that is cut together; a filter that rejects its first piece keeps the rest', () => {
    const told = track(
      changed(300, { 200: [at(200, 50, 70), at(200, 90, 150)], 205: [at(205, 50, 120), at(205, 140, 150)] }),
    )
    expect(brief(told)).toEqual(['extra 200 1', 'extra 205 1'])
    expect(told.faults[0]).toMatchObject({
      tick: 200_090,
      widthTicks: 60,
      sinceTrueTicks: 40,
      rejectWidthTicks: 20,
    })
    expect(told.faults[1]).toMatchObject({
      tick: 205_140,
      widthTicks: 10,
      sinceTrueTicks: 90,
      rejectWidthTicks: 10,
    })
    expect(told.widths.slice(200, 206)).toEqual([100, 100, 100, 100, 100, 100])
  })

  it('tells pulses that come early or late, and keeps count', () => {
    const told = track(changed(300, { 200: [at(200, 90, 190)], 210: [at(210, 0, 100)] }))
    expect(brief(told)).toEqual(['late 200 0', 'early 210 0'])
    expect(told.faults[0]!.offsetTicks).toBeGreaterThan(30)
    expect(told.faults[0]!.offsetTicks).toBeLessThan(50)
    expect(told.scanlines[200]).toEqual([200, 200_090])
    expect(told.regular[200]).toBe(false)
    expect(told.regular[210]).toBe(false)
    expect(told.regular[201]).toBe(true)
  })

  it('tells pulses of another width', () => {
    const told = track(
      changed(300, { 200: [at(200, 50, 200)], 210: [at(210, 50, 99)], 220: [at(220, 50, 120)] }),
    )
    expect(brief(told)).toEqual(['width 200 0', 'short 210 0', 'width 220 0'])
    expect(told.faults.map(({ widthTicks }) => widthTicks)).toEqual([150, 49, 70])
    // half as wide is not short yet
    expect(brief(track(changed(300, { 210: [at(210, 50, 100)] })))).toEqual(['width 210 0'])
    // their leading edges are right, their widths tell nothing
    expect(told.regular[200]).toBe(true)
    expect(told.widths[200]).toBeNaN()
  })

  it('takes a narrow pulse far from its place for a false one, and the true one for missing', () => {
    const told = track(changed(300, { 200: [at(200, 350, 399)] }))
    expect(brief(told).sort()).toEqual(['extra 200 1', 'missing 200 -1'])
    // as wide as half a pulse, it is that pulse
    expect(brief(track(changed(300, { 200: [at(200, 350, 401)] })))).toEqual(['late 200 0'])
    // a sixteenth of a scanline away at most, it is a short one
    expect(brief(track(changed(300, { 200: [at(200, 110, 155)] })))).toEqual(['late 200 0'])
  })

  it('takes six scanlines in a row that are off alike for a break of phase', () => {
    const moved = (count: number): Told =>
      track([
        ...lines(200),
        ...lines(count, 200).map(([a, b]): Pulse => [a + 300, b + 300]),
        ...lines(100, 200 + count),
      ])
    const five = moved(5)
    expect(brief(five)).toEqual(Array.from({ length: 5 }, (_, i) => `late ${200 + i} 0`))
    expect(five.events).toEqual(['timing 1000 positive at 50'])
    const on = track([...lines(200), ...lines(200, 200).map(([a, b]): Pulse => [a + 300, b + 300])])
    expect(on.events).toEqual([
      'timing 1000 positive at 50',
      expect.stringMatching(/^lost at 200/),
      'phase at 200350',
    ])
    expect(on.faults).toEqual([])
    expect(on.scanlines).toHaveLength(400)
  })

  it('goes on with its lock where most went on as before', () => {
    // eight pulses that went astray, each elsewhere
    const stray = [120, 260, 180, 330, 210, 290, 150, 240]
    const told = track(
      changed(300, Object.fromEntries(stray.map((off, i) => [200 + i, [at(200 + i, off, off + 100)]]))),
    )
    expect(told.events).toEqual(['timing 1000 positive at 50', expect.stringMatching(/^lost/), 'resumed'])
    expect(brief(told)).toEqual(stray.map((_, i) => `late ${200 + i} 0`))
    expect(told.scanlines).toHaveLength(300)
    expect(told.scanlines.at(-1)).toEqual([299, 299_050])
  })

  it('begins another timing where the period or the width changes', () => {
    const faster = Array.from({ length: 200 }, (_, n): Pulse => [200_050 + 870 * n, 200_150 + 870 * n])
    const told = track([...lines(200), ...faster])
    // the first of them comes as the old timing has it
    expect(told.events).toHaveLength(3)
    expect(told.events[2]).toBe('timing 870 positive at 200920')
    expect(told.faults).toEqual([])
    const wider = lines(200, 200).map(([a, b]): Pulse => [a, b + 60])
    const width = track([...lines(200), ...wider])
    expect(width.events[2]).toBe('timing 1000 positive at 200050')
    expect(width.faults).toEqual([])
  })

  // ratios of periods, after and before: now and then a pulse comes as the old timing has it
  it.each([
    [2, 1],
    [3, 2],
    [4, 3],
    [5, 4],
    [8, 5],
    [3, 4],
    [4, 5],
    [2, 3],
    [5, 7],
  ])('begins another timing where the period is %i/%i of the one before', (after, before) => {
    const period = (PERIOD * after) / before
    const begin = 200_050
    const next = Array.from({ length: 300 }, (_, n): Pulse => {
      const lead = Math.round(begin + period * n)
      return [lead, lead + WIDTH]
    })
    const told = track([...lines(200), ...next], { end: next.at(-1)![0] + period / 2 })
    expect(told.faults).toEqual([])
    expect(told.events.filter((event) => event.startsWith('timing'))).toEqual([
      'timing 1000 positive at 50',
      expect.stringMatching(`^timing ${Math.round(period)} `),
    ])
    // within two old scanlines
    const at = Number(told.events.at(-1)!.split(' ').at(-1))
    expect(Math.abs(at - begin)).toBeLessThanOrEqual(2 * Math.max(PERIOD, period))
  })

  it('goes on with its lock after a stretch in which each second pulse is missing', () => {
    const missing = Array.from({ length: 12 }, (_, n) => 200 + 2 * n)
    const told = track(changed(400, Object.fromEntries(missing.map((n) => [n, []]))))
    expect(brief(told)).toEqual(missing.map((n) => `missing ${n} -1`))
    expect(told.events.filter((event) => /timing|phase/.test(event))).toEqual(['timing 1000 positive at 50'])
    expect(told.scanlines).toHaveLength(400 - missing.length)
  })

  it('holds its count through a pause, up to 800 scanlines', () => {
    const after = (pause: number): Told => track([...lines(200), ...lines(100, 200 + pause)])
    const held = after(700)
    expect(held.events).toEqual(['timing 1000 positive at 50'])
    expect(held.faults).toHaveLength(700)
    expect(held.scanlines.at(-1)).toEqual([999, 999_050])
    const gone = after(900)
    expect(gone.events).toEqual([
      'timing 1000 positive at 50',
      expect.stringMatching(/^lost at 200/),
      'phase at 1100050',
    ])
    expect(gone.faults).toEqual([])
    expect(gone.scanlines.at(-1)).toEqual([1199, 1_199_050])
  })

  it('misses up to two pulses before the first and after the last of a capture', () => {
    const first = (missing: number, more: Setup = {}): Told =>
      track(lines(300, missing), { start: 0, ...more })
    expect(brief(first(1))).toEqual(['missing 0 -1'])
    expect(brief(first(2))).toEqual(['missing 0 -1', 'missing 1 -1'])
    expect(first(3).faults).toEqual([])
    expect(first(2).scanlines[0]).toEqual([2, 2050])
    const last = (end: number, more: Setup = {}): Told => track(lines(300), { end, ...more })
    expect(brief(last(300_040))).toEqual([])
    expect(brief(last(300_100))).toEqual(['missing 300 -1'])
    expect(brief(last(301_100))).toEqual(['missing 300 -1', 'missing 301 -1'])
    expect(last(302_100).faults).toEqual([])
    // in a vsync nobody knows
    expect(first(2, { isVsyncAbout: true })).toMatchObject({ faults: [] })
    expect(first(2, { isVsyncAbout: true }).events).toContain('first 2 not judged')
    expect(last(301_100, { isVsyncAbout: true }).events).toContain('last 2 not judged')
    expect(last(301_100, { isVsyncAbout: true }).faults).toEqual([])
  })

  describe('before there is a sync', () => {
    /** Pulses that no two scanlines have alike, up to the time given. */
    const noise = (count: number, until: number): Pulse[] => {
      const random = newRandom(12)
      const list: Pulse[] = []
      let at = 0
      for (let i = 0; i < count; i++) {
        at += 20 + Math.round(1000 * random.uniform() ** 3)
        const lead = at
        at += 5 + Math.round(700 * random.uniform() ** 3)
        list.push([lead, at])
      }
      const shift = until - at
      return list.map(([lead, trail]): Pulse => [lead + shift, trail + shift])
    }

    it('looks on, half as many edges further each time', () => {
      for (const count of [128, 160, 300]) {
        const told = track([...noise(count, 199_700), ...lines(200, 200)], { start: -1e6 })
        // the first few may be lost among the noise
        const regular = told.scanlines.filter(([, tick]) => tick >= 200_000)
        expect(regular.length).toBeGreaterThanOrEqual(195)
        expect(regular.every(([, tick]) => tick % PERIOD === 50)).toBe(true)
        expect(told.scanlines.at(-1)![1]).toBe(399_050)
      }
    })

    it('has looked at all at the end', () => {
      for (const count of [3, 100, 127, 128, 140, 256, 1000]) {
        const told = track(noise(count, 200_000), { start: -1e6 })
        expect([count, told.scanlines.length, told.settled]).toEqual([count, 0, 200_000])
      }
    })
  })

  it('finds nothing in fewer than three pulses', () => {
    expect(track(lines(2)).scanlines).toEqual([])
    expect(track(lines(3)).scanlines).toHaveLength(3)
  })

  describe('a composite sync', () => {
    /** Vsync of three broad pulses in scanlines 200 to 202, equalizing pulses in the three before and after. */
    const broad = (n: number): Pulse[] => [at(n, 50, 480), at(n, 550, 980)]
    const equalizing = (n: number): Pulse[] => [at(n, 50, 100), at(n, 550, 600)]
    const serrated = (more: Readonly<Record<number, readonly Pulse[]>> = {}): Pulse[] =>
      changed(300, {
        ...Object.fromEntries([197, 198, 199, 203, 204, 205].map((n) => [n, equalizing(n)])),
        ...Object.fromEntries([200, 201, 202].map((n) => [n, broad(n)])),
        ...more,
      })

    it('tells broad pulses, and scanlines throughout', () => {
      const told = track(serrated(), { channel: 'csync' })
      expect(told.events.slice(1)).toEqual(
        [200, 201, 202].flatMap((n) => broad(n).map(([lead, trail]) => `broad ${lead} to ${trail}`)),
      )
      expect(told.scanlines).toEqual(lines(300).map(([tick], n) => [n, tick]))
      // before vsync, what comes at half a scanline is left to whoever judges the interval
      expect(new Set(told.faults.map(({ kind }) => kind))).toEqual(new Set(['extra']))
    })

    it('or from one and a half widths on, where these are more', () => {
      const wide = (n: number): Pulse => at(n, 50, 250)
      const told = (trail: number): string[] =>
        track(
          Array.from({ length: 300 }, (_, n) => (n === 200 ? at(200, 50, trail) : wide(n))),
          { channel: 'csync' },
        ).events.slice(1)
      expect(told(350)).toEqual([])
      expect(told(351)).toEqual(['broad 200050 to 200351'])
    })

    it('knows equalizing pulses by half the width and what stands at the half, with no vsync near', () => {
      /** Two pulses in scanlines 150 to 152, both that wide, the second where it is said. */
      const told = (width: number, half = 550): string[] => {
        const two = (n: number): Pulse[] => [at(n, 50, 50 + width), at(n, half, half + width)]
        const { faults } = track(changed(300, { 150: two(150), 151: two(151), 152: two(152) }), {
          channel: 'csync',
        })
        return [...new Set(faults.map(({ kind }) => kind))].sort()
      }
      // what is at the half is left to whoever judges intervals
      expect(told(50)).toEqual(['extra'])
      expect([told(75), told(25)]).toEqual([['extra'], ['extra']])
      expect([told(76), told(24)]).toEqual([
        ['extra', 'width'],
        ['extra', 'short'],
      ])
      expect(told(49, 400)).toEqual(['extra', 'short'])
      // hsync has none
      expect(brief(track(changed(300, { 150: [at(150, 50, 99), at(150, 550, 599)] })))).toEqual([
        'short 150 0',
        'extra 151 1',
      ])
    })

    it('may begin among them, in five scanlines', () => {
      const narrow = (n: number): string[] =>
        brief(track(changed(300, { [n]: [at(n, 50, 99)] }), { channel: 'csync' }))
      expect(narrow(4)).toEqual([])
      expect(narrow(5)).toEqual(['short 5 0'])
    })

    it('is quiet while a pulse lasts over scanlines, and for four more', () => {
      const gated = changed(300, {
        ...Object.fromEntries([201, 202].map((n) => [n, []])),
        200: [at(200, 50, 2980)],
        205: [],
        208: [],
      })
      const told = track(gated, { channel: 'csync' })
      expect(told.events[1]).toBe('broad 200050 to 202980')
      expect(brief(told)).toEqual(['missing 208 -1'])
      // so it is about pulses that are late
      const late = (n: number): Pulse[] =>
        gated.map(([lead, trail]): Pulse => (lead === n * PERIOD + 50 ? at(n, 90, 190) : [lead, trail]))
      const last = track(late(207), { channel: 'csync' })
      expect(brief(last)).toEqual(['missing 208 -1'])
      expect(last.scanlines.map(([number]) => number)).not.toContain(207)
      expect(brief(track(late(209), { channel: 'csync' }))).toEqual(['missing 208 -1', 'late 209 0'])
    })

    it('a pulse is broad from a quarter of a scanline on', () => {
      const with_ = (trail: number): string[] =>
        track(changed(300, { 200: [at(200, 50, trail)] }), { channel: 'csync' }).events.slice(1)
      expect(with_(301)).toHaveLength(1)
      expect(with_(300)).toHaveLength(0)
      expect(track(changed(300, { 200: [at(200, 50, 480)] })).events).toHaveLength(1)
    })
  })
})
