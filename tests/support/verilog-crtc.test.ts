import { describe, expect, it } from 'vitest'

import { TIMINGS } from './timings.ts'
import { hasVerilogSimulator, simulateCrtc } from './verilog-crtc.ts'

/** [time, level] in the file's ticks, by name; enough of VCD for what this simulator writes. */
function readChanges(vcd: Uint8Array): Map<string, [number, number][]> {
  const names = new Map<string, string>()
  const changes = new Map<string, [number, number][]>()
  let time = 0
  for (const row of new TextDecoder().decode(vcd).split('\n')) {
    const declared = /^\$var wire 1 (\S+) (\S+) \$end/.exec(row)
    if (declared) {
      names.set(declared[1]!, declared[2]!)
      changes.set(declared[2]!, [])
    } else if (row.startsWith('#')) time = Number(row.slice(1))
    else if (/^[01]./.test(row)) changes.get(names.get(row.slice(1))!)!.push([time, Number(row[0])])
  }
  return changes
}

const times = (changes: [number, number][], level: number): number[] =>
  changes.filter(([time, to]) => time > 0 && to === level).map(([time]) => time)

// Written out so that a machine without the simulator says why nothing ran.
const simulator = hasVerilogSimulator() ? describe : describe.skip

simulator.each([
  ['mdaText', 'mda'],
  ['mono348', 'mono348'],
  ['cga80', 'cga80'],
  ['cgaGraphics', 'cgaGraphics'],
] as const)('%s (skipped where iverilog is absent)', (key, timingKey) => {
  it('counts what the timing table says and shows the formula’s picture', () => {
    const capture = simulateCrtc(key, 2.1)
    const timing = TIMINGS[timingKey]
    const changes = readChanges(capture.vcd)
    const dot = 1e12 / capture.dotClockHz
    const hsync = times(changes.get('HSYNC')!, 1)
    const vsync = times(changes.get('VSYNC')!, timing.vsyncPolarity === 'positive' ? 1 : 0)
    // a low-active vsync rests high, which the simulator may settle within time 0
    expect(capture.dotClockHz / timing.dotClockHz).toBeCloseTo(1, 4)
    expect(new Set(hsync.slice(1).map((time, i) => (time - hsync[i]!) / dot))).toEqual(
      new Set([timing.h.total]),
    )
    expect((vsync[1]! - vsync[0]!) / dot).toBe(timing.h.total * timing.v.total)
    const before = hsync.filter((time) => time <= vsync[0]!).at(-1)!
    expect((vsync[0]! - before) / dot).toBe(timing.vsyncOffsetDots)
    expect((times(changes.get('HSYNC')!, 0)[0]! - hsync[0]!) / dot).toBe(timing.h.sync)

    expect([capture.firstActiveDot, capture.firstActiveScanline]).toEqual([
      timing.h.sync + timing.h.backPorch,
      timing.v.sync + timing.v.backPorch,
    ])
    let wrong = 0
    let lit = 0
    const cursors = capture.channels.map((name) => ({ list: changes.get(name)!, next: 0, level: 0 }))
    for (let y = 0; y < capture.activeScanlines; y++) {
      for (let x = 0; x < capture.activeDots; x++) {
        const dots = (y + capture.firstActiveScanline) * timing.h.total + capture.firstActiveDot + x + 0.5
        const time = before + dots * dot
        let code = 0
        cursors.forEach((cursor, bit) => {
          while (cursor.next < cursor.list.length && cursor.list[cursor.next]![0] <= time)
            cursor.level = cursor.list[cursor.next++]![1]
          code |= cursor.level << bit
        })
        if (code !== capture.codeAt(x, y)) wrong++
        if (code !== 0) lit++
      }
    }
    expect(wrong).toBe(0)
    expect(lit).toBeGreaterThan((capture.activeDots * capture.activeScanlines) / 4)
    expect([capture.activeDots, capture.activeScanlines]).toEqual([timing.h.active, timing.v.active])
  }, 30_000)
})
