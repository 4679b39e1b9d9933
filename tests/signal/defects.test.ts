// Defects: as many as asked for, where they were asked for, and found there by the measuring side.

import { describe, expect, it, test } from 'vitest'
import { CaptureError } from '../../src/errors.ts'
import type { DefectRequest } from '../../src/signal/defects.ts'
import { made, measured } from './small-signals.ts'

const ringing = { kind: 'ringing', edge: 'trailing', delaySeconds: 350e-9, widthSeconds: 200e-9 } as const
const spike = { kind: 'spike', widthSeconds: 100e-9 } as const
const seeds = [1, 2, 3]

/** Faults by kind, only those that are there. */
function faultsOf(mode: string, defects: readonly DefectRequest[], seed: number, frames = 4) {
  const { chunks, summary } = made(mode, { defects, seed, frames })
  const { main } = measured(chunks)
  const found = Object.fromEntries(Object.entries(main.faults).filter(([, count]) => count > 0))
  return { found, summary, main }
}

describe.each(['cga-200', 'ega-350', 'mda-350'])('%s', (mode) => {
  test.each(seeds)('ringing is found as extra pulses, each where it was put (seed %d)', (seed) => {
    const { found, summary, main } = faultsOf(mode, [{ ...ringing, where: { share: 0.02 } }], seed)
    expect(summary.defects.length).toBeGreaterThan(3)
    expect(found).toEqual({ extra: summary.defects.length })
    main.sync.faults.forEach((fault, i) => {
      const defect = summary.defects[i]!
      const ticksPerSecond = 1e12
      // seen by the next sample
      const late = fault.tick / ticksPerSecond - defect.timeSeconds
      expect(late).toBeGreaterThanOrEqual(-1e-12)
      expect(late).toBeLessThan(1 / 24e6 + 1e-12)
    })
  })

  test.each(seeds)('missing pulses, spikes and ringing are told apart (seed %d)', (seed) => {
    const { found, summary } = faultsOf(
      mode,
      [
        { kind: 'missing', where: { count: 7 } },
        { ...spike, where: { count: 9 } },
        { ...ringing, edge: 'leading', where: { count: 5 } },
      ],
      seed,
    )
    expect(summary.defects).toHaveLength(21)
    expect(found).toEqual({ missing: 7, extra: 14 })
  })

  test.each(seeds)('a vsync that is missing is found, and makes one frame of two (seed %d)', (seed) => {
    const { found, main, summary } = faultsOf(
      mode,
      [{ kind: 'missing', channel: 'vsync', where: { count: 1 } }],
      seed,
      6,
    )
    // found by the frame that is as long as two
    expect(found).toEqual({ missing: 1 })
    expect(summary.defects).toMatchObject([{ kind: 'missing', channel: 'VSYNC', scanline: 0 }])
    expect(main.oddFrames).toBe(1)
  })
})

describe('places by name', () => {
  it('are struck, at the time they have in the frame', () => {
    const at = [
      { frame: 0, scanline: 100 },
      { frame: 1, scanline: 7, dot: 456 },
    ]
    const { summary } = faultsOf('cga-200', [{ ...spike, where: { at } }], 1)
    expect(summary.defects).toMatchObject([
      { kind: 'spike', channel: 'HSYNC', frame: 0, scanline: 100 },
      { kind: 'spike', channel: 'HSYNC', frame: 1, scanline: 7 },
    ])
    // frame 0 begins after four tenths of a frame
    const dots = 0.4 * 912 * 262 + (262 + 7) * 912 + 456
    expect(summary.defects[1]!.timeSeconds).toBeCloseTo(dots / (157.5e6 / 11), 7)
  })

  it('drop that scanline, and its frame alone is one shorter', () => {
    const { main, summary } = faultsOf(
      'cga-200',
      [{ kind: 'dropped-scanline', where: { at: [{ frame: 1, scanline: 120 }] } }],
      1,
      5,
    )
    expect(summary.defects).toMatchObject([
      { kind: 'dropped-scanline', channel: null, frame: 1, scanline: 120 },
    ])
    const lengths = main.sync.frames.map(({ scanlines }) => Math.round(scanlines))
    expect(lengths.slice(0, 4)).toEqual([262, 261, 262, 262])
    expect(main.oddFrames).toBe(1)
  })

  it('may lie on any channel', () => {
    const where = { at: [{ frame: 0, scanline: 0, dot: 500 }] }
    const plain = made('cga-200').summary.transitions
    const { summary } = made('cga-200', { defects: [{ ...spike, channel: 'blue', where }] })
    expect(summary.defects).toMatchObject([{ channel: 'B', frame: 0, scanline: 0 }])
    expect(summary.transitions).toBe(plain + 2)
  })
})

describe('what cannot be met', () => {
  test.each<[string, DefectRequest]>([
    ['a frame that is not captured', { kind: 'missing', where: { at: [{ frame: 9, scanline: 1 }] } }],
    ['a scanline that no frame has', { kind: 'missing', where: { at: [{ frame: 0, scanline: 262 }] } }],
    ['a share of more than all', { ...ringing, where: { share: 1.5 } }],
    ['half a defect', { ...spike, where: { count: 0.5 } }],
    ['more than there is room for', { ...spike, where: { count: 1000 } }],
    ['a channel that is not there', { ...spike, channel: 'VIDEO', where: { count: 1 } }],
    ['ringing of a colour', { ...ringing, channel: 'R', where: { count: 1 } }],
    ['a pulse without width', { ...spike, widthSeconds: 0, where: { count: 1 } }],
    ['ringing that comes too late', { ...ringing, delaySeconds: 60e-6, where: { count: 1 } }],
  ])('is refused before a byte is made: %s', (_, request) => {
    expect(() => made('cga-200', { defects: [request] })).toThrow(CaptureError)
    try {
      made('cga-200', { defects: [request] })
    } catch (error) {
      expect(error).toMatchObject({
        code: 'SYNTHESIS_IMPOSSIBLE',
        hint: expect.stringMatching(/\S/) as string,
      })
    }
  })
})
