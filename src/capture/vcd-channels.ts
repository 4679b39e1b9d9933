// Declared variables → channels: which of them become channels, in which order, under which names.

import { MalformedCaptureError } from '../errors.ts'
import { MAX_CHANNELS, MAX_NAME_CHARACTERS, type Channel } from './capture-header.ts'
import { excerptOf } from './vcd-excerpt.ts'
import type { VcdScope, VcdVariable } from './vcd-variable.ts'

/** Identifier codes that one capture may declare; more are an error, not memory. */
export const MAX_IDENTIFIERS = 262_144

/** Other names kept per code; a design may hang hundreds on its main clock. */
const MAX_ALIASES = 32

/** Scopes that a name may be given to tell it from others; names that are still alike are numbered. */
const MAX_SCOPES_IN_NAME = 16

/** One identifier code that carries channels: `widthBits` of them, the most significant bit first. */
export interface VcdWire {
  code: string
  widthBits: number
  firstChannel: number
}

/** Variables that became no channel. */
interface IgnoredVariables {
  count: number
  /** The first of them, with the reason. */
  first: { variable: VcdVariable; reason: string } | undefined
}

interface Candidate {
  variable: VcdVariable
  aliases: VcdVariable[]
}

/** Collects the variables of a header; memory stays bounded however many there are. */
export class VcdChannelList {
  /** Every declared code; null where no channel can come of it. */
  readonly #byCode = new Map<string, Candidate | null>()
  readonly ignored: IgnoredVariables = { count: 0, first: undefined }

  get identifierCount(): number {
    return this.#byCode.size
  }

  add(variable: VcdVariable): void {
    const known = this.#byCode.get(variable.code)
    if (known) {
      // IEEE 1364-2005, clause 18.2.3.7: several references may share one code.
      if (known.aliases.length < MAX_ALIASES) known.aliases.push(variable)
    } else if (variable.ignoredBecause !== null) {
      this.#byCode.set(variable.code, null)
      this.#ignore(variable, variable.ignoredBecause)
    } else {
      this.#byCode.set(variable.code, { variable, aliases: [] })
    }
  }

  /**
   * Settles the channels, in file order. Single wires go before buses when there is not room for all.
   *
   * @returns the channels, the wires that carry them, and the codes whose changes are to be passed over
   * @throws {MalformedCaptureError} CHANNEL_NAME_TOO_LONG
   */
  settle(): { channels: Channel[]; wires: VcdWire[]; ignoredCodes: string[] } {
    const chosen = this.#choose()
    const channels: Channel[] = []
    const wires: VcdWire[] = []
    const namesByVariable = tellApart(chosen.map((candidate) => candidate.variable))
    const membersOfBus = countBusMembers(chosen)
    for (const candidate of chosen) {
      const { variable } = candidate
      const label = namesByVariable.get(variable)!
      if (label.length > MAX_NAME_CHARACTERS) throw nameTooLong(label, variable.atByte)
      wires.push({ code: variable.code, widthBits: variable.widthBits, firstChannel: channels.length })
      channels.push(...channelsOf(variable, label, membersOfBus))
    }
    makeUnique(channels)
    addAliases(chosen, wires, channels)
    const carrying = new Set(wires.map((wire) => wire.code))
    return { channels, wires, ignoredCodes: [...this.#byCode.keys()].filter((code) => !carrying.has(code)) }
  }

  #choose(): Candidate[] {
    const candidates = [...this.#byCode.values()].filter((candidate) => candidate !== null)
    let room = MAX_CHANNELS
    const chosen = new Set<Candidate>()
    for (const wanted of ['wire', 'bus']) {
      for (const candidate of candidates) {
        const { widthBits } = candidate.variable
        if ((widthBits === 1) !== (wanted === 'wire') || widthBits > room) continue
        room -= widthBits
        chosen.add(candidate)
      }
    }
    for (const candidate of candidates) {
      if (!chosen.has(candidate))
        this.#ignore(candidate.variable, `exceeds the ${MAX_CHANNELS} channels that are read`)
    }
    return candidates.filter((candidate) => chosen.has(candidate))
  }

  #ignore(variable: VcdVariable, reason: string): void {
    this.ignored.count++
    this.ignored.first ??= { variable, reason }
  }
}

/** A wire declared as one bit of a bus carries its bit number in its name. */
function labelOf(variable: VcdVariable): string {
  return variable.index === null ? variable.name : `${variable.name}[${variable.index}]`
}

/** The label behind its nearest `depth` scopes. */
function scopedLabel(variable: VcdVariable, depth: number): string {
  let label = labelOf(variable)
  let scope: VcdScope | null = variable.scope
  for (let level = 0; level < depth && scope; level++, scope = scope.parent) {
    if (scope.name !== '') label = `${scope.name}.${label}`
  }
  return label
}

/** Scopes that the variable's name can be given. */
function scopeDepth(variable: VcdVariable): number {
  let depth = 0
  for (let scope = variable.scope; scope && depth < MAX_SCOPES_IN_NAME; scope = scope.parent) depth++
  return depth
}

/** Short names where they are the only ones of their kind, else with as many scopes as tell them apart. */
function tellApart(variables: readonly VcdVariable[]): Map<VcdVariable, string> {
  const groups = new Map<string, VcdVariable[]>()
  for (const variable of variables) {
    const group = groups.get(labelOf(variable))
    if (group) group.push(variable)
    else groups.set(labelOf(variable), [variable])
  }
  const names = new Map<VcdVariable, string>()
  for (const group of groups.values()) {
    const deepest = group.length === 1 ? 0 : Math.max(...group.map(scopeDepth))
    let depth = 0
    let labels = group.map((variable) => scopedLabel(variable, depth))
    while (depth < deepest && new Set(labels).size < labels.length) {
      depth++
      labels = group.map((variable) => scopedLabel(variable, depth))
    }
    group.forEach((variable, i) => names.set(variable, labels[i]!))
  }
  return names
}

/** How many single wires share one bus name in one scope. */
function countBusMembers(chosen: readonly Candidate[]): Map<VcdScope | null, Map<string, number>> {
  const counts = new Map<VcdScope | null, Map<string, number>>()
  for (const { variable } of chosen) {
    if (variable.index === null) continue
    const inScope = counts.get(variable.scope) ?? new Map<string, number>()
    counts.set(variable.scope, inScope.set(variable.name, (inScope.get(variable.name) ?? 0) + 1))
  }
  return counts
}

function channelsOf(
  variable: VcdVariable,
  label: string,
  membersOfBus: Map<VcdScope | null, Map<string, number>>,
): Channel[] {
  if (variable.widthBits === 1) {
    const { index } = variable
    if (index === null) return [{ name: label, aliases: [], bus: null }]
    const widthBits = membersOfBus.get(variable.scope)?.get(variable.name) ?? 1
    const busName = label.slice(0, label.length - `[${index}]`.length)
    return [{ name: label, aliases: [], bus: { name: busName, bit: index, widthBits } }]
  }
  return Array.from({ length: variable.widthBits }, (_, i) => {
    const bit = bitNumber(variable, i)
    return { name: `${label}[${bit}]`, aliases: [], bus: { name: label, bit, widthBits: variable.widthBits } }
  })
}

/** Number of the i-th bit of a vector as a change writes it, the most significant first. */
function bitNumber(variable: VcdVariable, i: number): number {
  return variable.msb >= variable.lsb ? variable.msb - i : variable.msb + i
}

/** Two codes with one full path: the later ones get a number. */
function makeUnique(channels: Channel[]): void {
  const taken = new Set<string>()
  for (const channel of channels) {
    const { name } = channel
    for (let copy = 2; taken.has(channel.name); copy++) channel.name = `${name}#${copy}`
    taken.add(channel.name)
  }
}

/** Further references of a code become aliases of its channels, unless they are another channel's name. */
function addAliases(
  chosen: readonly Candidate[],
  wires: readonly VcdWire[],
  channels: readonly Channel[],
): void {
  const taken = new Set(channels.map((channel) => channel.name))
  chosen.forEach(({ aliases }, n) => {
    const { firstChannel, widthBits } = wires[n]!
    for (const alias of aliases) {
      if (alias.widthBits !== widthBits) continue
      for (let i = 0; i < widthBits; i++) {
        const channel = channels[firstChannel + i]!
        const suffix = widthBits === 1 ? '' : `[${bitNumber(alias, i)}]`
        const name = freeName(alias, suffix, channel, taken)
        if (name === undefined) continue
        taken.add(name)
        channel.aliases.push(name)
      }
    }
  })
}

function freeName(
  alias: VcdVariable,
  suffix: string,
  channel: Channel,
  taken: ReadonlySet<string>,
): string | undefined {
  const deepest = scopeDepth(alias)
  for (let depth = 0; depth <= deepest; depth++) {
    const name = scopedLabel(alias, depth) + suffix
    if (name.length > MAX_NAME_CHARACTERS) return undefined
    if (name === channel.name || channel.aliases.includes(name)) return undefined
    if (!taken.has(name)) return name
  }
  return undefined
}

function nameTooLong(name: string, byte: number): MalformedCaptureError {
  return new MalformedCaptureError(
    'CHANNEL_NAME_TOO_LONG',
    `a channel's name has ${name.length} characters, at most ${MAX_NAME_CHARACTERS} are read: ${excerptOf(name)}`,
    { byte },
    { hint: 'write the capture again with short names' },
  )
}
