// A dump that an independent simulator writes from a few lines of Verilog: its text says what must be in it.

import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { collect, noticeCounts } from './vcd-collect.ts'

const VERILOG = `
\`timescale 10ns / 1ns
module source(output wire hs, output wire [0:2] pins);
  assign hs = bench.hsync;
  assign pins = {bench.rgb[0], bench.rgb[1], bench.rgb[2]};
endmodule
module bench;
  reg hsync = 0;
  reg [2:0] rgb;
  reg \\odd.name[1] = 1;
  real volts = 0.5;
  integer count = 3;
  event tick;
  wire hs_out;
  wire [0:2] pins_out;
  source dut(.hs(hs_out), .pins(pins_out));
  initial begin
    $dumpfile("dump.vcd");
    $dumpvars(0, bench);
    #4 hsync = 1; rgb = 3'b000;
    #0.3 rgb = 3'b101; volts = 0.7;
    #5 hsync = 0; -> tick; count = 4;
    #1 $dumpoff; rgb = 3'b111;
    #2 $dumpon;
    #3 rgb = 3'bz01; \\odd.name[1] = 0;
    #10 $finish;
  end
endmodule
`

function simulate(): string | undefined {
  if (spawnSync('iverilog', ['-V']).status !== 0 || spawnSync('vvp', ['-V']).status !== 0) return undefined
  const folder = mkdtempSync(join(tmpdir(), 'rastertap-vcd-'))
  try {
    writeFileSync(join(folder, 'bench.v'), VERILOG)
    execFileSync('iverilog', ['-o', 'bench.vvp', 'bench.v'], { cwd: folder })
    execFileSync('vvp', ['bench.vvp'], { cwd: folder })
    return readFileSync(join(folder, 'dump.vcd'), 'latin1')
  } finally {
    rmSync(folder, { recursive: true })
  }
}

it('reads what a Verilog simulator dumps', ({ skip }) => {
  const text = simulate()
  if (text === undefined) return skip('iverilog is not installed')
  const result = collect(text)
  expect(result.error).toBeUndefined()
  // The dump's tick is the precision.
  expect(result.header).toMatchObject({ secondsPerTick: 1e-9, timebaseFrom: 'timescale' })
  expect(result.extent).toEqual({ firstTick: 0, lastTick: 253 })

  /** Changes of a name or alias as `tick level`, repeats left out. */
  const changesOf = (name: string): string[] => {
    const channel = result.header!.channels.find((one) => one.name === name || one.aliases.includes(name))
    expect(channel, name).toBeDefined()
    const rows = result.rows.filter(([, of]) => of === channel!.name)
    return rows
      .filter(([, , level], n) => rows[n - 1]?.[2] !== level)
      .map(([tick, , level]) => `${tick} ${level}`)
  }
  // 10 ns units: 4 -> 40, 4.3 -> 43, 9.3 -> 93, dump off from 103 to 123, 15.3 -> 153.
  const hsync = ['0 0', '40 1', '93 0', '103 2', '123 0']
  expect(changesOf('hsync')).toEqual(hsync)
  expect(changesOf('hs_out')).toEqual(hsync)
  expect(changesOf('rgb[2]')).toEqual(['0 2', '40 0', '43 1', '103 2', '123 1', '153 2'])
  expect(changesOf('rgb[1]')).toEqual(['0 2', '40 0', '103 2', '123 1', '153 0'])
  expect(changesOf('rgb[0]')).toEqual(['0 2', '40 0', '43 1', '103 2', '123 1'])
  // The bus is ascending and wired crosswise: pins[0] is rgb[0].
  expect(changesOf('pins_out[0]')).toEqual(changesOf('rgb[0]'))
  expect(changesOf('pins_out[2]')).toEqual(changesOf('rgb[2]'))
  expect(changesOf('odd.name[1]')).toEqual(['0 1', '103 2', '123 1', '153 0'])
  expect(noticeCounts(result)).toMatchObject({ CHANNELS_IGNORED: 3, VCD_REAL_IGNORED: expect.any(Number) })
})
