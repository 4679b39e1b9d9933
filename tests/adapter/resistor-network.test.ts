import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { lusolve, zeros, type Matrix } from 'mathjs'
import { describe, expect, it, test } from 'vitest'
import { unitResponses } from '../../src/adapter/node-voltages.ts'
import {
  idealResistors,
  isHigh,
  layNetwork,
  outputVolts,
  pinAmperes,
  placeValues,
  solveNetwork,
  USUAL_ELECTRICS,
  type Electrics,
  type NetworkKind,
} from '../../src/adapter/resistor-network.ts'

const KINDS: readonly NetworkKind[] = [
  { kind: 'weighted', bits: 1 },
  { kind: 'weighted', bits: 2 },
  { kind: 'weighted', bits: 3 },
  { kind: 'weighted', bits: 4 },
  { kind: 'rgbi' },
  { kind: 'mono' },
  { kind: 'mono', inputs: 1 },
]
const NAMED: readonly { name: string; kind: NetworkKind }[] = KINDS.map((kind) => ({
  name: Object.values(kind).join(' '),
  kind,
}))
const SOME_OHMS = [390, 820, 1600, 3300]
const WEAK_PINS: Electrics = { supplyVolts: 3.3, loadOhms: 75.5, fullScaleVolts: 0.7, pinOhms: 40 }

/** Outputs for one code, by conductance stamps and a general solver; shares no code with src. */
function generalSolution(
  kind: NetworkKind,
  ohms: readonly number[],
  electrics: Electrics,
  code: number,
): number[] {
  const { placed, outputs, pins } = layNetwork(kind)
  // unknowns: outputs, then pins' feet, each tied to its source through pinOhms
  const size = outputs.length + pins.length
  const g = zeros(size, size) as Matrix
  const i = Array.from({ length: size }, () => 0)
  const add = (row: number, column: number, siemens: number): void => {
    g.set([row, column], Number(g.get([row, column])) + siemens)
  }
  outputs.forEach((_, o) => add(o, o, 1 / electrics.loadOhms))
  pins.forEach((_, p) => {
    const volts = Math.floor(code / 2 ** (pins.length - 1 - p)) % 2 === 1 ? electrics.supplyVolts : 0
    add(outputs.length + p, outputs.length + p, 1 / electrics.pinOhms)
    i[outputs.length + p] = volts / electrics.pinOhms
  })
  for (const { pin, output, value } of placed) {
    const [a, b, siemens] = [output, outputs.length + pin, 1 / ohms[value]!]
    add(a, a, siemens)
    add(b, b, siemens)
    add(a, b, -siemens)
    add(b, a, -siemens)
  }
  const solved = lusolve(g, i) as Matrix
  return outputs.map((_, o) => Number(solved.get([o, 0])))
}

describe('ideal resistors', () => {
  test('3.3 V into 75 ohm for 0.7 V: 278.6 ohm in parallel, R = 417.9, 2R = 835.7', () => {
    // divider rule: 75 (3.3 / 0.7 - 1); shared 2:1, R = 1.5 and 2R = 3 times that. Common practice: about 419.
    const { parallelOhms, resistorsOhms } = idealResistors({ kind: 'weighted', bits: 2 }, USUAL_ELECTRICS)
    expect(parallelOhms).toBeCloseTo(278.571, 3)
    expect(resistorsOhms[0]).toBeCloseTo(417.857, 3)
    expect(resistorsOhms[1]).toBeCloseTo(835.714, 3)
  })

  test('a level of 2/3 is 0.46 to 0.47 V at the monitor (common practice)', () => {
    const kind = { kind: 'weighted', bits: 2 } as const
    const network = layNetwork(kind)
    const { resistorsOhms } = idealResistors(kind, USUAL_ELECTRICS)
    // a cable adds about half an ohm to the load (common practice)
    for (const loadOhms of [75, 75.5]) {
      const transfer = solveNetwork(network, resistorsOhms, { ...USUAL_ELECTRICS, loadOhms })
      const volts = outputVolts(network, transfer, 2, 0)
      expect(volts).toBeGreaterThan(0.46)
      expect(volts).toBeLessThan(0.471)
    }
  })

  test.each(NAMED)('$name: every code comes out at its ideal level', ({ kind }) => {
    const network = layNetwork(kind)
    const { resistorsOhms } = idealResistors(kind, USUAL_ELECTRICS)
    const transfer = solveNetwork(network, placeValues(network, resistorsOhms), USUAL_ELECTRICS)
    for (let code = 0; code < 2 ** network.pins.length; code++)
      network.outputs.forEach((_, output) =>
        expect(outputVolts(network, transfer, code, output)).toBeCloseTo(
          0.7 * network.idealShare(code, output),
          12,
        ),
      )
  })

  test('pin impedance is taken off, and times three where one pin feeds three outputs', () => {
    const electrics = { ...USUAL_ELECTRICS, pinOhms: 30 }
    expect(idealResistors({ kind: 'weighted', bits: 1 }, electrics).resistorsOhms[0]).toBeCloseTo(248.571, 3)
    const rgbi = idealResistors({ kind: 'rgbi' }, electrics).resistorsOhms
    expect(rgbi[0]).toBeCloseTo(417.857 - 30, 3)
    expect(rgbi[1]).toBeCloseTo(835.714 - 90, 3)
    // greys come out exact then
    const network = layNetwork({ kind: 'rgbi' })
    const transfer = solveNetwork(network, placeValues(network, rgbi), electrics)
    for (const [code, share] of [
      [0b0111, 2 / 3],
      [0b1000, 1 / 3],
      [0b1111, 1],
    ] as const)
      expect(outputVolts(network, transfer, code, 1)).toBeCloseTo(0.7 * share, 12)
  })
})

describe('levels agree', () => {
  test.each(NAMED)('$name: with nodal analysis in a general maths library', ({ kind }) => {
    const network = layNetwork(kind)
    const transfer = solveNetwork(network, placeValues(network, SOME_OHMS), WEAK_PINS)
    for (let code = 0; code < 2 ** network.pins.length; code++)
      generalSolution(kind, SOME_OHMS, WEAK_PINS, code).forEach((volts, output) =>
        expect(outputVolts(network, transfer, code, output)).toBeCloseTo(volts, 12),
      )
  })

  test.each(NAMED.slice(0, 4))("$name: with Millman's theorem", ({ kind }) => {
    const network = layNetwork(kind)
    const { supplyVolts, loadOhms, pinOhms } = WEAK_PINS
    const siemens = network.pins.map((_, pin) => 1 / (SOME_OHMS[pin]! + pinOhms))
    const transfer = solveNetwork(network, placeValues(network, SOME_OHMS), WEAK_PINS)
    for (let code = 0; code < 2 ** siemens.length; code++) {
      const high = siemens.reduce((sum, g, pin) => sum + (isHigh(network, code, pin) ? g : 0), 0)
      const all = siemens.reduce((sum, g) => sum + g, 1 / loadOhms)
      expect(outputVolts(network, transfer, code, 0)).toBeCloseTo((supplyVolts * high) / all, 12)
    }
  })

  const hasSimulator = spawnSync('ngspice', ['--version']).status === 0
  const where = hasSimulator ? '' : ' (skipped: ngspice, a Debian package, is not installed)'
  test.skipIf(!hasSimulator).each(NAMED)(`$name: with a circuit simulator${where}`, ({ kind }) => {
    const network = layNetwork(kind)
    const codes = 2 ** network.pins.length
    const netlist = ['levels of every code']
    const asked: string[] = []
    // every code is a circuit of its own in one netlist
    for (let code = 0; code < codes; code++) {
      network.pins.forEach((_, p) => {
        const volts =
          Math.floor(code / 2 ** (network.pins.length - 1 - p)) % 2 === 1 ? WEAK_PINS.supplyVolts : 0
        netlist.push(
          `V${code}_${p} s${code}_${p} 0 ${volts}`,
          `Rp${code}_${p} s${code}_${p} f${code}_${p} ${WEAK_PINS.pinOhms}`,
        )
      })
      network.outputs.forEach((_, o) => {
        netlist.push(`Rl${code}_${o} o${code}_${o} 0 ${WEAK_PINS.loadOhms}`)
        asked.push(`v(o${code}_${o})`)
      })
      network.placed.forEach(({ pin, output, value }, n) =>
        netlist.push(`R${code}_${n} f${code}_${pin} o${code}_${output} ${SOME_OHMS[value]}`),
      )
    }
    netlist.push(
      '.control',
      'set numdgt=9',
      'op',
      ...asked.map((it) => `print ${it}`),
      'quit 0',
      '.endc',
      '.end',
      '',
    )
    const folder = mkdtempSync(join(tmpdir(), 'levels-'))
    try {
      const file = join(folder, 'levels.cir')
      writeFileSync(file, netlist.join('\n'))
      const said = execFileSync('ngspice', ['-b', file], { encoding: 'utf8' })
      const volts = new Map(
        [...said.matchAll(/^(v\(o\d+_\d+\)) = (\S+)/gm)].map((m) => [m[1]!, Number(m[2])]),
      )
      expect(volts.size).toBe(asked.length)
      const transfer = solveNetwork(network, placeValues(network, SOME_OHMS), WEAK_PINS)
      for (let code = 0; code < codes; code++)
        network.outputs.forEach((_, o) =>
          // the simulator's own tolerance is 1e-3 relative and 1 uV (reltol, vntol); linear circuits do far better
          expect(outputVolts(network, transfer, code, o)).toBeCloseTo(volts.get(`v(o${code}_${o})`)!, 6),
        )
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
})

describe('currents', () => {
  test.each(NAMED)('$name: what the pins deliver is what the loads take', ({ kind }) => {
    const network = layNetwork(kind)
    const ohms = placeValues(network, SOME_OHMS)
    const transfer = solveNetwork(network, ohms, WEAK_PINS)
    for (let code = 0; code < 2 ** network.pins.length; code++) {
      const delivered = pinAmperes(network, transfer, ohms, code).reduce((a, b) => a + b, 0)
      const taken = network.outputs.reduce(
        (sum, _, o) => sum + outputVolts(network, transfer, code, o) / WEAK_PINS.loadOhms,
        0,
      )
      expect(delivered).toBeCloseTo(taken, 12)
    }
  })

  test('one pin at full scale delivers 0.7 V / 75 ohm = 9.333 mA', () => {
    const network = layNetwork({ kind: 'weighted', bits: 1 })
    const ohms = idealResistors({ kind: 'weighted', bits: 1 }, USUAL_ELECTRICS).resistorsOhms
    const [amperes] = pinAmperes(network, solveNetwork(network, ohms, USUAL_ELECTRICS), ohms, 1)
    expect(amperes! * 1e3).toBeCloseTo(9.3333, 4)
  })
})

describe('node voltages', () => {
  it('of a ladder of equal parts halve at each step', () => {
    // R-2R: source through 2R to node 2, R between nodes, 2R to ground at the far end
    const branches = [
      { from: 1, to: 2, ohms: 2000 },
      { from: 2, to: 0, ohms: 2000 },
      { from: 2, to: 3, ohms: 1000 },
      { from: 3, to: 0, ohms: 1000 },
    ]
    const [volts] = unitResponses(4, branches, [1])
    expect(volts).toEqual([0, 1, expect.closeTo(1 / 3, 12), expect.closeTo(1 / 6, 12)])
  })

  it("obey Kirchhoff's current law in any network", () => {
    const network = fc.array(
      fc.record({ from: fc.nat(5), to: fc.nat(5), ohms: fc.double({ min: 1, max: 1e5, noNaN: true }) }),
      { minLength: 1, maxLength: 12 },
    )
    fc.assert(
      fc.property(network, (some) => {
        // every node hangs on ground by a large resistor, so that none floats
        const branches = [
          ...some.filter(({ from, to }) => from !== to),
          ...[1, 2, 3, 4, 5].map((from) => ({ from, to: 0, ohms: 1e6 })),
        ]
        const [volts] = unitResponses(6, branches, [1])
        for (let node = 2; node < 6; node++) {
          let sum = 0
          let largest = 0
          for (const { from, to, ohms } of branches) {
            const current =
              ((volts![from]! - volts![to]!) / ohms) * (from === node ? 1 : to === node ? -1 : 0)
            sum += current
            largest = Math.max(largest, Math.abs(current))
          }
          expect(Math.abs(sum)).toBeLessThanOrEqual(1e-9 * largest + 1e-15)
        }
      }),
    )
  })
})
