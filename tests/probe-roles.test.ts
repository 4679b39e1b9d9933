// Syncs on probes whose names say nothing, or say it wrongly, among clocks, counters, buses and pulse trains from elsewhere.
// PROBE_CASES=500 PROBE_SEED=1 makes a long run of other cases and prints its tally.

import { describe, expect, it, test } from 'vitest'

import { CaptureError } from '../src/errors.ts'
import { renderFrame } from '../src/render-frame.ts'
import { drawSignal } from './support/draw-signal.ts'
import {
  captureBytes,
  drawCard,
  measureBytes,
  measureSignal,
  noticeCodes,
  wrongDots,
} from './support/measured-card.ts'
import { drawPicture } from './support/pictures.ts'
import { randomProbes, type ProbeCase } from './support/random-probes.ts'
import type { Signal } from './support/signal.ts'
import { TIMINGS } from './support/timings.ts'

const CASES = Number(process.env['PROBE_CASES'] ?? 10)
const SEED = Number(process.env['PROBE_SEED'] ?? 70_000)

type Outcome =
  | 'right'
  | 'another one used, the true one named as its rival'
  | 'hsync right, no vsync claimed'
  | 'refused'
  | 'wrong'

function outcomeOf(probes: ProbeCase): { outcome: Outcome; said: string } {
  const bytes = captureBytes(probes.signal, probes.sampleRateHz, {
    instrument: { phase: probes.phase, clockErrorPpm: probes.clockErrorPpm },
  })
  try {
    const measurement = measureBytes(bytes)
    const roles = measurement.channels.map(({ role }) => role)
    const wireOf = (role: 'hsync' | 'vsync'): string | undefined => probes.wires[roles.indexOf(role)]
    const said = measurement.notices.map(({ message }) => message).join('; ')
    if (wireOf('hsync') === 'H' && wireOf('vsync') === 'V') return { outcome: 'right', said }
    const rivals = measurement.notices.find(({ code }) => code === 'CHANNEL_AMBIGUOUS')?.message ?? ''
    const wrongWire = wireOf('hsync') === 'H' ? 'V' : 'H'
    if (rivals.includes(`"${probes.signal.channels[probes.wires.indexOf(wrongWire)]!}"`))
      return { outcome: 'another one used, the true one named as its rival', said }
    if (wireOf('hsync') !== 'H') return { outcome: 'wrong', said }
    return { outcome: wireOf('vsync') === undefined ? 'hsync right, no vsync claimed' : 'wrong', said }
  } catch (error) {
    if (!(error instanceof CaptureError)) throw error
    return { outcome: 'refused', said: error.message }
  }
}

describe('syncs among strangers', () => {
  it(`are found in ${CASES} random captures`, { timeout: 60_000 + 10_000 * CASES }, () => {
    const tally: Partial<Record<Outcome, number>> = {}
    const wrong: string[] = []
    for (let seed = SEED; seed < SEED + CASES; seed++) {
      const probes = randomProbes(seed)
      const { outcome, said } = outcomeOf(probes)
      tally[outcome] = (tally[outcome] ?? 0) + 1
      const { key, kind, naming, vsyncEdges } = probes
      const about = `${seed}: ${key} ${kind}, named: ${naming}, edges of vsync: ${vsyncEdges}: ${said}`
      // one pulse of vsync at most may be too little to find it by; two are not
      const isStated = outcome !== 'wrong' && (vsyncEdges < 4 || outcome.startsWith('another'))
      if (outcome !== 'right' && !isStated) wrong.push(`${outcome}: ${about}`)
    }
    if (CASES > 100) console.info(tally, wrong)
    expect(wrong).toEqual([])
  })
})

describe('the mono pair', () => {
  // intensity brightens some of what is lit
  const timing = TIMINGS.mda
  const drawn = drawPicture('text', timing, 5)
  const picture = { ...drawn, codes: drawn.codes.map((code) => (code === 2 ? 3 : code)) }
  const draw = (rename: Record<string, string>, codes = drawn.codes): Signal =>
    drawSignal(timing, { ...picture, codes }, { frames: 2.2, startFrames: 0.4, rename })

  test.each([
    { H: 'D0', V: 'D1', video: 'D2', I: 'D3' },
    { H: 'D3', V: 'D0', video: 'D2', I: 'D1' },
  ])('is told by its rates, and which is which by what is lit alone', (rename) => {
    const measurement = measureSignal(draw(rename, picture.codes), 50e6)
    const roles = Object.fromEntries(measurement.channels.map(({ name, role }) => [name, role]))
    expect(roles).toEqual({
      [rename.H]: 'hsync',
      [rename.V]: 'vsync',
      [rename.video]: 'video',
      [rename.I]: 'intensity',
    })
    expect(noticeCodes(measurement)).toContain('MONO_PAIR_FOUND')
    expect(renderFrame(measurement).palette.name).toBe('mono')
    expect(wrongDots(measurement, picture)).toBe(0)
  })

  test('stays unnamed where either is lit without the other', () => {
    const measurement = measureSignal(draw({ H: 'D0', V: 'D1', video: 'D2', I: 'D3' }), 50e6)
    expect(noticeCodes(measurement)).toContain('COLOUR_UNNAMED')
    expect(noticeCodes(measurement)).not.toContain('MONO_PAIR_FOUND')
  })

  test('is not claimed where the rates are those of colour', () => {
    const { signal } = drawCard('cga80', 'text', {
      rename: { H: 'D0', V: 'D1', R: 'D2', G: 'D3' },
      omit: ['B', 'I'],
    })
    const measurement = measureSignal(signal, 50e6)
    expect(noticeCodes(measurement)).toContain('COLOUR_UNNAMED')
    expect(noticeCodes(measurement)).not.toContain('MONO_PAIR_FOUND')
  })
})

describe('labels on the wrong wires', () => {
  const namesOf = (renamed: Record<string, string>): Record<string, string> => ({
    H: 'HSYNC',
    V: 'VSYNC',
    R: 'R',
    G: 'G',
    B: 'B',
    I: 'I',
    ...renamed,
  })

  test.each([
    [{ H: 'R', R: 'HSYNC' }, { R: 'hsync', HSYNC: 'red', VSYNC: 'vsync' }, 'CHANNEL_NAME_DOUBTED'],
    [{ V: 'G', G: 'VSYNC' }, { G: 'vsync', VSYNC: 'green', HSYNC: 'hsync' }, 'CHANNEL_NAME_DOUBTED'],
    [{ H: 'VSYNC', V: 'HSYNC' }, { VSYNC: 'hsync', HSYNC: 'vsync', R: 'red' }, 'CHANNEL_NAMES_SWAPPED'],
  ])('%o is seen, said and put right', (renamed, roles, code) => {
    const { signal, picture } = drawCard('cga80', 'text-full', { rename: namesOf(renamed) })
    const measurement = measureSignal(signal, 24e6)
    const found = Object.fromEntries(measurement.channels.map(({ name, role }) => [name, role]))
    expect(found).toMatchObject(roles)
    const notice = measurement.notices.find((one) => one.code === code)
    for (const name of Object.values(renamed)) expect(notice?.message).toContain(`"${name}"`)
    expect(wrongDots(measurement, picture)).toBe(0)
  })

  it('is not corrected against the user’s own map', () => {
    const { signal } = drawCard('cga80', 'text-full', { rename: namesOf({ H: 'VSYNC', V: 'HSYNC' }) })
    const map = [{ role: 'vsync', channel: 'VSYNC' }]
    expect(() => measureSignal(signal, 24e6, { measure: { map } })).toThrow(
      expect.objectContaining({ code: 'HSYNC_TOO_FEW_EDGES', message: expect.stringContaining('"HSYNC"') }),
    )
  })
})
