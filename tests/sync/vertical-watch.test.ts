// What a composite sync's scanlines show wrong, on its way past vertical intervals: scanlines of 1000 ticks, frames of 40 of
// them, of which the 20th and 21st are vsync's, with two broad pulses each.

import { describe, expect, it } from 'vitest'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import type { FaultKind, SyncFault } from '../../src/sync/sync-fault.ts'
import { VerticalWatch } from '../../src/sync/vertical-watch.ts'
import { faultOf } from './hand-made-sync.ts'

const PERIOD = 1000
const FRAME = 40
const VSYNC = 20

/** A fault so many ticks behind the begin of its scanline. */
function fault(kind: FaultKind, scanline: number, offsetTicks = 0): SyncFault {
  return faultOf(kind, scanline * PERIOD + offsetTicks, { channel: 'csync', scanline, offsetTicks })
}
/** Where an equalizing pulse may be. */
const half = (scanline: number, offsetTicks = 500): SyncFault => fault('extra', scanline, offsetTicks)

class Watched {
  readonly told: string[] = []
  readonly watch: VerticalWatch
  readonly #faults: readonly SyncFault[]

  /** @param faults told when their scanline is */
  constructor(faults: readonly SyncFault[] = []) {
    this.#faults = faults
    const say = (what: string, { kind, tick }: SyncFault): void =>
      void this.told.push(`${what} ${kind} ${tick}`)
    this.watch = new VerticalWatch(5, {
      settled: (one) => say('settled', one),
      dropped: (one) => say('dropped', one),
      edgesBeside: ({ scanline, edges }) => void this.told.push(`${edges} edge in ${scanline}`),
      halvesNotJudged: (pulses) => void this.told.push(`${pulses} halves`),
      intervalJudged: (frame, isJudged, shift) =>
        void this.told.push(
          `vsync ${frame.startTick}${isJudged ? '' : ' not'} judged${shift ? ` ${shift}` : ''}`,
        ),
    })
    this.watch.begin({ polarity: 'positive', periodTicks: PERIOD, widthTicks: 70 })
  }

  /** Scanlines alone: from the first to before the last. */
  scanlines(from: number, to: number): this {
    for (let n = from; n < to; n++) {
      for (const one of this.#faults) if (one.scanline === n) this.watch.hold(one)
      this.watch.scanline(n, n * PERIOD, PERIOD, 0)
    }
    return this
  }

  /** Whole frames with their edges. @param edgesOf a scanline that has others, as [lead, trail] in ticks from its begin */
  frames(
    count: number,
    edgesOf: (n: number) => (readonly [number, number])[] | undefined = () => undefined,
    until: number = count * FRAME,
  ): this {
    let vsyncTick = NaN
    for (let n = 0; n < until; n++) {
      const line = n % FRAME
      const isBroad = line === VSYNC || line === VSYNC + 1
      const usual: [number, number][] = isBroad
        ? [
            [0, 430],
            [500, 930],
          ]
        : [[0, 70]]
      const edges = edgesOf(n) ?? usual
      // vsync begins with its first broad pulse
      if (line === VSYNC) vsyncTick = n * PERIOD + edges[0]![0]
      for (const [lead, trail] of edges) {
        this.watch.edge(n * PERIOD + lead, 1)
        this.watch.edge(n * PERIOD + trail, 0)
        if (trail - lead > 250) this.watch.broadPulse(n * PERIOD + lead)
      }
      if (line === VSYNC + 2) {
        const trailTick = (n - 1) * PERIOD + 930
        this.watch.vsync({ startTick: vsyncTick } as FrameSync, vsyncTick, trailTick)
      }
      this.scanlines(n, n + 1)
    }
    return this
  }

  end(): string[] {
    this.watch.flush()
    return this.told
  }
}

describe('VerticalWatch, where no vsync is', () => {
  it('settles what is wrong 256 scanlines later, in order', () => {
    const watched = new Watched([fault('late', 100, 30), fault('extra', 100, 200), fault('missing', 101)])
    watched.scanlines(0, 357)
    expect(watched.told).toEqual([])
    watched.scanlines(357, 358)
    expect(watched.told).toEqual(['settled late 100030', 'settled extra 100200'])
    watched.scanlines(358, 359)
    expect(watched.told.slice(2)).toEqual(['settled missing 101000'])
  })

  it('or at once at the end', () => {
    expect(new Watched([fault('late', 100, 30), half(100)]).scanlines(0, 130).end()).toEqual([
      'settled late 100030',
      'settled extra 100500',
    ])
  })

  it('says of pulses at the half of a scanline that they may be right, in the first five and the last four', () => {
    const places = [10, 14, 15, 95, 96, 99].map((n) => half(n))
    expect(new Watched(places).scanlines(10, 100).end()).toEqual([
      'dropped extra 10500',
      'dropped extra 14500',
      'settled extra 15500',
      'settled extra 95500',
      'dropped extra 96500',
      'dropped extra 99500',
      '4 halves',
    ])
  })

  it('but of no others there', () => {
    const places = [
      fault('missing', 10),
      half(11, 400),
      half(12, -500),
      fault('late', 99, 500),
      half(99, 600),
    ]
    expect(new Watched(places).scanlines(10, 100).end()).toEqual([
      'dropped extra 11500',
      'settled missing 10000',
      'settled extra 11400',
      'settled late 99500',
      'settled extra 99600',
      '1 halves',
    ])
  })

  it('begins anew after a flush', () => {
    const watched = new Watched([half(11), half(104)])
    watched.scanlines(10, 60).end()
    expect(watched.told).toEqual(['dropped extra 11500', '1 halves'])
    watched.scanlines(100, 200).end()
    expect(watched.told.slice(2)).toEqual(['dropped extra 104500', '1 halves'])
    watched.end()
    expect(watched.told).toHaveLength(4)
  })

  it('takes those around a broad pulse for equalizing ones, from 5 scanlines before it to 6 after', () => {
    const watched = new Watched([half(44), half(45), half(46), half(49), fault('late', 49, 40)])
    watched.scanlines(10, 50)
    expect(watched.told).toEqual([])
    watched.watch.broadPulse(50_500)
    // 45 500 is five before it
    expect(watched.told).toEqual(['dropped extra 45500', 'dropped extra 46500', 'dropped extra 49500'])
    watched.watch.hold(half(56, 499))
    watched.watch.hold(half(56, 500))
    watched.scanlines(50, 90)
    expect(watched.end().slice(3)).toEqual([
      'dropped extra 56499',
      'settled extra 44500',
      'settled late 49040',
      'settled extra 56500',
      '4 halves',
    ])
  })

  it('keeps no more than 4096 of them waiting', () => {
    const watched = new Watched().scanlines(10, 20)
    for (let i = 0; i < 4095; i++) watched.watch.hold(half(11))
    expect(watched.told.filter((text) => text.includes('halves'))).toEqual([])
    watched.watch.hold(half(11))
    expect(watched.told.filter((text) => text.includes('halves'))).toEqual(['2048 halves'])
    expect(watched.end().at(-1)).toBe('2048 halves')
  })
})

describe('VerticalWatch, where vsyncs are', () => {
  const vsyncs = [0, 1, 2, 3].map((n) => (n * FRAME + VSYNC) * PERIOD)

  it('judges intervals as a whole, in place of what scanlines show', () => {
    const [first, second, third, fourth] = vsyncs
    const told = new Watched([half(VSYNC + 4), fault('width', FRAME + VSYNC)])
      // the second vsync lacks its first broad pulse, and so seems to begin half a scanline late
      .frames(4, (n) => (n === FRAME + VSYNC ? [[500, 930]] : undefined))
      .end()
    expect(told).toEqual([
      'dropped extra 24500',
      `vsync ${first} judged`,
      `vsync ${second! + 500} judged -0.5`,
      'dropped width 60000',
      '-1 edge in 60',
      `settled missing ${second}`,
      `vsync ${third} judged`,
      `vsync ${fourth} judged`,
    ])
  })

  it('leaves what lies beside an interval to the scanlines', () => {
    // an interval goes from 5.25 scanlines before its vsync to 5.75 after the last scanline of that
    const from = (FRAME + VSYNC - 5.25) * PERIOD
    const until = (FRAME + VSYNC + 2 + 5.75) * PERIOD
    const at = (tick: number): SyncFault =>
      fault('extra', Math.floor(tick / PERIOD), tick - Math.floor(tick / PERIOD) * PERIOD)
    const told = new Watched([at(from - 1), at(from), at(until - 1), at(until)]).frames(3).end()
    expect(told.filter((text) => text.includes('extra'))).toEqual([
      `dropped extra ${from}`,
      `dropped extra ${until - 1}`,
      `settled extra ${from - 1}`,
      `settled extra ${until}`,
    ])
  })

  it('judges none where two have nothing that most have', () => {
    const told = new Watched([half(VSYNC - 3), half(VSYNC + 4), fault('width', VSYNC)]).frames(2).end()
    expect(told).toEqual([
      'dropped extra 17500',
      'dropped extra 24500',
      'vsync 20000 not judged',
      'settled width 20000',
      'vsync 60000 not judged',
    ])
  })

  it('judges what there is of the last one', () => {
    const watched = new Watched().frames(4, undefined, 3 * FRAME + VSYNC + 5)
    expect(watched.told).toEqual([])
    expect(watched.end()).toEqual(vsyncs.map((tick) => `vsync ${tick} judged`))
  })
})
