// The reader against two others: the npm package vcd-stream, and a slow one of a dozen lines.

import fc from 'fast-check'
import { createRequire } from 'node:module'
import { expect, it } from 'vitest'
import { bytesOf, collect, cutEvery, type Row } from './vcd-collect.ts'

interface VcdStream {
  change: {
    any(heard: (code: string, time: bigint, command: number, value?: bigint, mask?: bigint) => void): void
  }
  write(chunk: Uint8Array): void
  end(done: () => void): void
}
interface VcdStreamPackage {
  createVCD(): Promise<unknown>
  webVcdParser(wasm: unknown): Promise<VcdStream>
}

const require = createRequire(import.meta.url)

/** The wasm form: the native one may not have been built. */
function loadVcdStream(): VcdStreamPackage | undefined {
  try {
    const createVCD = require('vcd-stream/out/vcd.js') as VcdStreamPackage['createVCD']
    const webVcdParser = require('vcd-stream/lib/web-vcd-parser.js') as VcdStreamPackage['webVcdParser']
    return { createVCD, webVcdParser }
  } catch {
    return undefined
  }
}

const WIRES = ['!', '"', '#', '$1', '~~', 'abc']
const VECTORS: Record<string, number> = { v: 3, '%~': 5, word: 12 }

const HEADER = [
  '$timescale 1 ns $end\n$scope module top $end\n',
  ...WIRES.map((code, n) => `$var wire 1 ${code} w${n} $end\n`),
  ...Object.entries(VECTORS).map(
    ([code, width]) => `$var wire ${width} ${code} ${code} [${width - 1}:0] $end\n`,
  ),
  '$upscope $end\n$enddefinitions $end\n',
].join('')

const wireChange = fc
  .tuple(fc.constantFrom(...'01010101xz'), fc.constantFrom(...WIRES))
  .map(([value, code]) => `${value}${code}\n`)
const vectorChange = fc.constantFrom(...Object.keys(VECTORS)).chain((code) =>
  fc
    // Full width: the extension of short vectors is not this package's business.
    .string({ unit: fc.constantFrom(...'010101x'), minLength: VECTORS[code]!, maxLength: VECTORS[code]! })
    .map((value) => `b${value} ${code}\n`),
)
const body = fc
  .array(fc.tuple(fc.nat(5000), fc.array(fc.oneof(wireChange, wireChange, vectorChange), { maxLength: 4 })), {
    minLength: 1,
    maxLength: 80,
  })
  .map((moments) => {
    let time = 0
    return moments.map(([step, changes]) => `#${(time += step)}\n${changes.join('')}`).join('')
  })

/** Drops what repeats the level a channel has, as a reader may or may not do. */
function withoutRepeats(rows: readonly Row[]): Row[] {
  const last = new Map<string, number>()
  return rows.filter(([, name, level]) => {
    const changed = last.get(name) !== level
    last.set(name, level)
    return changed
  })
}

function readSlowly(text: string): Row[] {
  const rows: Row[] = []
  let time = 0
  for (const line of text.slice(HEADER.length).split('\n')) {
    const [, digits, code] = /^b?([01xz]+) ?(.+)$/.exec(line) ?? []
    if (line.startsWith('#') && !/^#\n?$/.test(line)) time = Number(line.slice(1))
    else if (digits === undefined || code === undefined) continue
    else if (WIRES.includes(code)) rows.push([time, `w${WIRES.indexOf(code)}`, levelOf(digits)])
    else
      [...digits].forEach((digit, i) =>
        rows.push([time, `${code}[${digits.length - 1 - i}]`, levelOf(digit)]),
      )
  }
  return rows
}

function levelOf(digit: string): number {
  return digit === '0' ? 0 : digit === '1' ? 1 : 2
}

async function readWithVcdStream(library: VcdStreamPackage, bytes: Uint8Array): Promise<Row[]> {
  const rows: Row[] = []
  const stream = await library.webVcdParser(await library.createVCD())
  stream.change.any((code, time, command, value = 0n, mask = 0n) => {
    const width = VECTORS[code]
    // Commands 14 to 19 are the scalar values 0 1 x X z Z.
    if (width === undefined) rows.push([Number(time), `w${WIRES.indexOf(code)}`, Math.min(command - 14, 2)])
    for (let bit = (width ?? 0) - 1; bit >= 0; bit--) {
      const isUnknown = ((mask >> BigInt(bit)) & 1n) === 1n
      rows.push([Number(time), `${code}[${bit}]`, isUnknown ? 2 : Number((value >> BigInt(bit)) & 1n)])
    }
  })
  for (const chunk of cutEvery(bytes, 4096)) stream.write(chunk)
  await new Promise<void>((done) => stream.end(done))
  return rows
}

it('agrees with a slow reader', () => {
  fc.assert(
    fc.property(body, (text) => {
      expect(withoutRepeats(collect(HEADER + text).rows)).toEqual(withoutRepeats(readSlowly(HEADER + text)))
    }),
    { numRuns: 200 },
  )
})

it('agrees with vcd-stream', async ({ skip }) => {
  const library = loadVcdStream()
  if (!library) return skip('vcd-stream is not installed with its wasm form')
  await fc.assert(
    fc.asyncProperty(body, async (text) => {
      const theirs = await readWithVcdStream(library, bytesOf(HEADER + text))
      expect(withoutRepeats(collect(HEADER + text).rows)).toEqual(withoutRepeats(theirs))
    }),
    { numRuns: 40 },
  )
}, 30_000)
