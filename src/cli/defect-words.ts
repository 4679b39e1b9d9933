// `KIND:key=value,…` and its like on the command line → what the synthesizer takes. Times are in nanoseconds here.

import { DEFECT_KINDS } from '../signal/choices.ts'
import type { DefectPlace, DefectRequest, DefectWhere } from '../signal/defects.ts'
import type { SignalJitter } from '../signal/jitter.ts'
import type { SignalInterval } from '../signal/signal-timing.ts'
import { UsageError } from './usage-error.ts'

/** How defects are written; part of --help. */
export const DEFECT_HELP = `
defects (--defect, any number of times):
  ringing[:KEY=VALUE,...]           false pulse after an edge of a sync pulse
                                    edge=trailing|leading  delay=NS (350)  width=NS (200)
  missing[:KEY=VALUE,...]           sync pulse that is not there
  spike[:KEY=VALUE,...]             level turned over for a moment, width=NS (100)
  dropped-scanline[:KEY=VALUE,...]  scanline that the card leaves out
  all of them:       count=N places by chance (1), share=0.02 of all places, or
                     at=FRAME/SCANLINE, for spikes also at=FRAME/SCANLINE/DOT;
                     several places with + between them
  all but the last:  channel=NAME, HSYNC unless given
jitter (--jitter, each kind once):
  random=NS          every edge by itself (standard deviation)
  wander=NS@HZ       whole scanlines, noise below HZ (standard deviation)
  periodic=NS@HZ     whole scanlines, a sine of HZ (amplitude)
`

const HINT = 'rastertap synthesize --help shows how defects, jitter and skew are written'
const KEYS: Readonly<Record<DefectRequest['kind'], readonly string[]>> = {
  ringing: ['channel', 'edge', 'delay', 'width'],
  missing: ['channel'],
  spike: ['channel', 'width'],
  'dropped-scanline': [],
}
const NANO = 1e-9

/** @throws {UsageError} */
export function parseDefect(text: string): DefectRequest {
  const colon = text.indexOf(':')
  const word = (colon < 0 ? text : text.slice(0, colon)).trim().toLowerCase()
  const kind = DEFECT_KINDS.find((known) => known === word)
  if (!kind) throw new UsageError(`no defect is called "${word}"`, `defects are: ${DEFECT_KINDS.join(', ')}`)
  const said = colon < 0 ? new Map<string, string>() : pairs(text.slice(colon + 1), `--defect ${text}`)
  const known = [...KEYS[kind], 'at', 'count', 'share']
  for (const key of said.keys()) {
    if (!known.includes(key))
      throw new UsageError(`--defect ${kind} has no "${key}"`, `it takes: ${known.join(', ')}`)
  }
  const where = whereOf(said)
  const channel = said.get('channel')
  const widthOr = (usual: number): number => NANO * number(said.get('width') ?? String(usual), 'width')
  switch (kind) {
    case 'ringing': {
      const edge = said.get('edge') ?? 'trailing'
      if (edge !== 'leading' && edge !== 'trailing') {
        throw new UsageError(`edge=${edge} is no edge`, 'give edge=leading or edge=trailing')
      }
      const delaySeconds = NANO * number(said.get('delay') ?? '350', 'delay')
      return { kind, channel, edge, delaySeconds, widthSeconds: widthOr(200), where }
    }
    case 'missing':
      return { kind, channel, where }
    case 'spike':
      return { kind, channel, widthSeconds: widthOr(100), where }
    case 'dropped-scanline':
      return { kind, where }
  }
}

function whereOf(said: ReadonlyMap<string, string>): DefectWhere {
  const [at, count, share] = [said.get('at'), said.get('count'), said.get('share')]
  if ([at, count, share].filter((given) => given !== undefined).length > 1) {
    throw new UsageError('a defect is given by at, count or share, not by two of them', HINT)
  }
  if (at !== undefined) return { at: at.split('+').map(placeOf) }
  if (share !== undefined) return { share: number(share, 'share') }
  return { count: number(count ?? '1', 'count') }
}

function placeOf(text: string): DefectPlace {
  const match = /^(-?\d{1,6})\/(\d{1,6})(?:\/(\d{1,6}))?$/.exec(text.trim())
  if (!match) throw new UsageError(`at=${text} is no place`, 'give frame and scanline, such as at=1/100')
  const dot = match[3] === undefined ? undefined : Number(match[3])
  return { frame: Number(match[1]), scanline: Number(match[2]), dot }
}

/** `key=value,key=value`. */
function pairs(text: string, what: string): Map<string, string> {
  const found = new Map<string, string>()
  for (const part of text.split(',')) {
    const at = part.indexOf('=')
    const key = part.slice(0, Math.max(0, at)).trim().toLowerCase()
    if (at < 1 || at === part.length - 1 || found.has(key)) {
      throw new UsageError(`${what}: "${part}" is not what is wanted there`, HINT)
    }
    found.set(key, part.slice(at + 1).trim())
  }
  return found
}

function number(text: string, what: string): number {
  const value = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i.test(text) ? Number(text) : NaN
  if (!Number.isFinite(value)) throw new UsageError(`${what}: "${text}" is no number`, HINT)
  return value
}

/** `random=5`, `wander=20@300`, each kind once. @throws {UsageError} */
export function parseJitter(texts: readonly string[]): SignalJitter {
  const jitter: SignalJitter = {}
  for (const text of texts) {
    const match = /^(random|wander|periodic)=([^@]+)(?:@(.+))?$/i.exec(text.trim())
    const kind = match?.[1]!.toLowerCase()
    const isTwice = kind === 'random' ? jitter.randomSeconds : jitter[kind as 'wander' | 'periodic']
    if (!match || (kind === 'random') !== (match[3] === undefined) || isTwice !== undefined) {
      throw new UsageError(
        `--jitter ${text} is not what is wanted there`,
        'give random=NS, wander=NS@HZ or periodic=NS@HZ, each once',
      )
    }
    const seconds = NANO * number(match[2]!, '--jitter')
    if (kind === 'random') jitter.randomSeconds = seconds
    else jitter[kind as 'wander' | 'periodic'] = { seconds, hertz: number(match[3]!, '--jitter') }
  }
  return jitter
}

/** `R=12`, `hsync=-5`: nanoseconds by channel. @throws {UsageError} */
export function parseSkew(texts: readonly string[]): Record<string, number> {
  const skew: [string, number][] = []
  for (const text of texts) {
    for (const [channel, value] of namesAndValues(text)) skew.push([channel, NANO * number(value, '--skew')])
  }
  return Object.fromEntries(skew)
}

/** As `pairs`, but names keep their case. */
function namesAndValues(text: string): [string, string][] {
  return text.split(',').map((part) => {
    const at = part.indexOf('=')
    if (at < 1 || at === part.length - 1) {
      throw new UsageError(
        `--skew ${text} is not what is wanted there`,
        'give channel=nanoseconds, such as R=12',
      )
    }
    return [part.slice(0, at).trim(), part.slice(at + 1).trim()]
  })
}

/** `640,16,96,48`: active, front porch, sync, back porch. @throws {UsageError} */
export function parseInterval(text: string, option: string): SignalInterval {
  const parts = text.split(',').map((part) => number(part.trim(), option))
  const [active, frontPorch, sync, backPorch] = parts
  if (parts.length !== 4) {
    throw new UsageError(
      `${option} ${text}: four numbers are wanted`,
      'give active,front,sync,back, such as 640,16,96,48',
    )
  }
  return { active: active!, frontPorch: frontPorch!, sync: sync!, backPorch: backPorch! }
}
