// Words on the command line → checked values. commander finds the words; what they mean is decided here.

import { InvalidArgumentError, type Command } from 'commander'
import type { TimeUnit } from '../capture/capture-header.ts'
import { MAX_MERGED_FRAMES } from '../dots/merged-frames.ts'
import { CONNECTORS, type Connector, type RoleAssignment } from '../capture/channel-roles.ts'

const PREFIX: Readonly<Record<string, number>> = { '': 1, k: 1e3, K: 1e3, M: 1e6, G: 1e9 }
const TIME_UNITS: readonly TimeUnit[] = ['s', 'ms', 'us', 'ns', 'ps', 'samples']

/** `24M`, `14.318181MHz`, `270e6`, `24 MHz` → hertz. */
export function parseFrequency(text: string): number {
  const match = /^\s*(\d+(?:\.\d*)?(?:e[+-]?\d+)?|\.\d+(?:e[+-]?\d+)?)\s*([kKMG]?)(?:hz|s\/s)?\s*$/i.exec(
    text,
  )
  const factor = match ? PREFIX[match[2]!] : undefined
  // 16.257 * 1e6 is no whole number in binary; what was typed is
  const value = match && factor !== undefined ? Number((Number(match[1]) * factor).toPrecision(15)) : NaN
  if (!(value > 0) || !Number.isFinite(value)) {
    throw new InvalidArgumentError('a frequency is wanted, such as 24M, 14.318181MHz or 270e6')
  }
  return value
}

/** `red=D3,hsync=D6` → assignments; whether the names exist is known only with the capture. */
export function parseMap(text: string, before: readonly RoleAssignment[] = []): RoleAssignment[] {
  const list = text.split(',').map((part) => {
    const at = part.indexOf('=')
    if (at < 1 || at === part.length - 1) {
      throw new InvalidArgumentError('role=channel pairs are wanted, such as red=D3,hsync=D6')
    }
    return { role: part.slice(0, at).trim(), channel: part.slice(at + 1).trim() }
  })
  return [...before, ...list]
}

export function parseConnector(text: string): Connector {
  const found = CONNECTORS.find((known) => known === text.toLowerCase())
  if (!found) throw new InvalidArgumentError(`known connectors are ${CONNECTORS.join(', ')}`)
  return found
}

export function parseTimeUnit(text: string): TimeUnit {
  const found = TIME_UNITS.find((known) => known === text.toLowerCase())
  if (!found) throw new InvalidArgumentError(`known units are ${TIME_UNITS.join(', ')}`)
  return found
}

export function parseIndex(text: string): number {
  if (!/^\d{1,6}$/.test(text)) throw new InvalidArgumentError('a number from 0 is wanted')
  return Number(text)
}

/** Frames to merge. */
export function parseMergeCount(text: string): number {
  const frames = parseIndex(text)
  if (frames < 1 || frames > MAX_MERGED_FRAMES) {
    throw new InvalidArgumentError(`a number of frames from 1 to ${MAX_MERGED_FRAMES} is wanted`)
  }
  return frames
}

/** A number above 0, such as ohms or volts. */
export function parseAmount(text: string): number {
  const value = parseNotNegative(text)
  if (value === 0) throw new InvalidArgumentError('a number above 0 is wanted')
  return value
}

export function parseNotNegative(text: string): number {
  if (!/^\s*(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?\s*$/i.test(text) || !Number.isFinite(Number(text)))
    throw new InvalidArgumentError('a number is wanted, such as 75 or 3.3')
  return Number(text)
}

/** `5` or `5%`, below 100. */
export function parsePercent(text: string): number {
  const value = parseNotNegative(text.replace(/\s*%\s*$/, ''))
  if (value >= 100) throw new InvalidArgumentError('a percentage below 100 is wanted')
  return value
}

/** `264K`, `262144`, `1M`: memory is counted in steps of 1024. */
export function parseBytes(text: string): number {
  const match = /^\s*(\d+(?:\.\d+)?)\s*([kKM]?)(?:i?B)?\s*$/.exec(text)
  const factor = match ? { '': 1, k: 1024, K: 1024, M: 1024 ** 2 }[match[2]!] : undefined
  const value = match && factor !== undefined ? Number(match[1]) * factor : NaN
  if (!Number.isSafeInteger(value)) throw new InvalidArgumentError('bytes are wanted, such as 224000 or 264K')
  return value
}

/** Parses a whole number from `min` to `max`. */
export function parseWhole(min: number, max: number): (text: string) => number {
  return (text) => {
    const value = /^\d{1,9}$/.test(text) ? Number(text) : NaN
    if (!(value >= min && value <= max))
      throw new InvalidArgumentError(`a whole number from ${min} to ${max} is wanted`)
    return value
  }
}

/** Parses one word of a list, in any case. */
export function parseWord<Word extends string>(words: readonly Word[]): (text: string) => Word {
  return (text) => {
    const found = words.find((word) => word.toLowerCase() === text.toLowerCase())
    if (found === undefined) throw new InvalidArgumentError(`one of ${words.join(', ')} is wanted`)
    return found
  }
}

/** A frame's number, or `all`. */
export function parseFrame(text: string): number | 'all' {
  return text === 'all' ? text : parseIndex(text)
}

/** `0,3` → two frames. */
export function parseFramePair(text: string): [number, number] {
  const parts = text.split(',')
  if (parts.length !== 2) throw new InvalidArgumentError('two frames are wanted, such as 0,1')
  return [parseIndex(parts[0]!.trim()), parseIndex(parts[1]!.trim())]
}

/** Options that every command with a capture takes. */
export interface CaptureOptions {
  map?: RoleAssignment[]
  connector?: Connector
  rate?: number
  timeUnit?: TimeUnit
  quick?: boolean
}

/** @param optional true where numbers on the command line can take its place */
export function addCaptureOptions(command: Command, optional = false): Command {
  return command
    .argument(
      optional ? '[capture]' : '<capture>',
      'VCD or CSV file, may be gzip-compressed; - for standard input',
    )
    .option('--map <role=channel,...>', 'which channel carries what, such as red=D3,hsync=D6', parseMap)
    .option(
      '--connector <name>',
      `9-pin connector that names like pin3 speak of: ${CONNECTORS.join(', ')}`,
      parseConnector,
    )
    .option('--rate <hz>', 'sample rate of the instrument, such as 24M', parseFrequency)
    .option('--time-unit <unit>', `unit of the time column: ${TIME_UNITS.join(', ')}`, parseTimeUnit)
}
