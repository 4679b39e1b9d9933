// Random small captures of video: a few scanlines a frame, any polarity, any dialect, with faults; so small that tens of
// thousands of them can be measured and drawn.

import { chance, pick, type Random } from '../support/random.ts'

/** A change of one channel's level. */
interface Change {
  tick: number
  channel: number
  level: number
}

/** Characters that rows of samples may come to: files stay small. */
const MOST_SAMPLES_TEXT = 300_000

interface Video {
  names: readonly string[]
  /** In order of time; the first of each channel is its level at the begin. */
  changes: readonly Change[]
  tickNanoseconds: number
}

const COLOURS: readonly string[][] = [
  Array.from({ length: 24 }, (_, n) => `D${n}`),
  ['DCLK', 'VIDEO', 'DE'],
  ['R', 'G', 'B', 'I'],
  ['R', 'G', 'B'],
  ['VIDEO'],
  ['D0', 'D1'],
  ['r', 'R', 'g', 'G', 'b', 'B'],
  [],
]

/** @returns Latin-1 text of a VCD or CSV */
export function videoText(random: Random): string {
  const video = drawn(random)
  return chance(random, 0.5)
    ? asVcd(video, random)
    : chance(random, 0.7)
      ? asChanges(video, random)
      : asSamples(video)
}

function drawn(random: Random): Video {
  const colours = pick(random, COLOURS)
  const composite = chance(random, 0.15)
  const syncs = composite ? ['CSYNC'] : chance(random, 0.9) ? ['HSYNC', 'VSYNC'] : ['HSYNC']
  // fewer than 300 dots are not taken for dots
  const dots = 310 + random.below(600)
  const dotTicks = chance(random, 0.5) ? 1 + random.below(4) : 1 + random.uniform() * 3
  const period = dots * dotTicks
  const total = 20 + random.below(60)
  const scanlines = total * (1 + random.below(4)) + random.below(total)
  const faults = chance(random, 0.4) ? 0.02 : 0
  const width = Math.max(1, period * (0.03 + 0.12 * random.uniform()))
  const inverted = [random.below(2), random.below(2)]
  const jitter = chance(random, 0.2) ? random.uniform() * 3 : 0
  const toggles: { tick: number; channel: number }[] = []
  const toggle = (tick: number, channel: number): number =>
    toggles.push({ tick: Math.round(tick + jitter * random.gaussian()), channel })
  const offset = random.uniform() * period
  let change = 1
  for (let line = 0; line < scanlines; line++) {
    const inVsync = line % total < 3
    if (chance(random, faults / 8)) change = 0.5 + random.uniform()
    const start = offset + line * period * change
    if (!chance(random, faults)) {
      toggle(start, 0)
      toggle(start + (composite && inVsync ? period - width : width), 0)
    }
    if (chance(random, faults)) {
      const at = start + random.uniform() * period
      toggle(at, 0)
      toggle(at + 1 + random.below(4), 0)
    }
    if (syncs.length > 1 && (line % total === 0 || line % total === 3))
      toggle(start + (chance(random, faults) ? period / 2 : 0), 1)
    if (line % total < 8) continue
    for (let colour = 0; colour < colours.length; colour++) {
      for (let edge = random.below(4) * 2; edge > 0; edge--)
        toggle(start + period * 0.2 + random.below(Math.floor(dots * 0.7)) * dotTicks, syncs.length + colour)
    }
  }
  toggles.sort((a, b) => a.tick - b.tick)
  // far from zero, ticks are large and differences small
  const origin = chance(random, 0.8) ? 0 : pick(random, [-1e6, 1e9, 2 ** 52, 2 ** 53 - 1e6])
  const finer = chance(random, 0.8) ? 1 : 10 ** random.below(8)
  const names = [...syncs, ...colours]
  const levels = names.map((_, n) => inverted[n] ?? 0)
  const first = names.map((_, channel) => ({ tick: origin, channel, level: levels[channel]! }))
  const changes = toggles.map(({ tick, channel }) => {
    levels[channel] = 1 - levels[channel]!
    return { tick: origin + Math.max(0, tick) * finer, channel, level: levels[channel]! }
  })
  // scanlines of 8 to 130 kHz, and a few that are no video's
  const scanlineNanoseconds = chance(random, 0.9) ? 63_556 / (1 + random.below(3)) : 1e6 * random.uniform()
  const tickNanoseconds = Math.max(1, Math.round(scanlineNanoseconds / period)) / finer
  return {
    names: chance(random, 0.1) ? names.map((_, n) => `D${n}`) : names,
    changes: [...first, ...changes],
    tickNanoseconds,
  }
}

function asVcd({ names, changes, tickNanoseconds }: Video, random: Random): string {
  const code = (channel: number): string => String.fromCharCode(33 + channel)
  const variables = names.map((name, n) => `$var wire 1 ${code(n)} ${name} $end\n`).join('')
  let text = `$timescale ${chance(random, 0.9) ? `${tickNanoseconds * 1e6} fs` : '1 ns'} $end\n${variables}$enddefinitions $end\n`
  let last = -1
  for (const { tick, channel, level } of changes) {
    if (tick !== last) text += `#${(last = tick)}\n`
    text += `${level}${code(channel)}\n`
  }
  return text
}

function asChanges(video: Video, random: Random): string {
  const { names, tickNanoseconds } = video
  const inSeconds = chance(random, 0.5)
  let text = `${inSeconds ? 'Time [s]' : 'Time [ns]'},${names.join(',')}\n`
  for (const [tick, levels] of rowsOf(video)) {
    const time = inSeconds ? ((tick * tickNanoseconds) / 1e9).toFixed(12) : String(tick * tickNanoseconds)
    text += `${time},${levels.join(',')}\n`
  }
  return text
}

/** A row for each tick, as an instrument without compression writes it. */
function asSamples(video: Video): string {
  let text = `# Sample rate: ${1e9 / video.tickNanoseconds} Hz\n${video.names.join(',')}\n`
  let last: [number, readonly number[]] | undefined
  for (const row of rowsOf(video)) {
    if (last) text += `${last[1].join(',')}\n`.repeat(Math.min(1000, row[0] - last[0]))
    if (text.length > MOST_SAMPLES_TEXT) break
    last = row
  }
  return text
}

function rowsOf({ names, changes }: Video): [tick: number, levels: number[]][] {
  const levels = names.map(() => 0)
  const rows = new Map<number, number[]>()
  for (const { tick, channel, level } of changes) {
    levels[channel] = level
    rows.set(tick, [...levels])
  }
  return [...rows]
}
