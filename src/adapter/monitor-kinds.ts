// Kinds of monitor that a person may have, and which of them lock to a pair of rates.

/** A kind of monitor; rates in hertz, both ends accepted. */
export interface MonitorKind {
  name: string
  /** Takes red, green and blue at 0 to 0.7 V; false: TTL levels. */
  analog: boolean
  scanlineHz: readonly [number, number]
  frameHz: readonly [number, number]
  source: string
}

/** Fixed-frequency CRTs hold to about this, either way, relative (common practice). */
const HOLD_RANGE = 0.02

function fixed(hz: number): readonly [number, number] {
  return [hz * (1 - HOLD_RANGE), hz * (1 + HOLD_RANGE)]
}

/** Lower limit of most VGA monitors, hertz (common practice). */
export const VGA_LOWEST_SCANLINE_HZ = 31_000

/** Analog kinds an adapter can feed, and the TTL kinds the cards were made for. */
export const MONITOR_KINDS: readonly MonitorKind[] = [
  {
    name: 'VGA CRT of fixed scanline rate',
    analog: true,
    scanlineHz: fixed(31_469),
    frameHz: [59, 71],
    source: 'IBM PS/2 Displays maintenance manual (1993) for the kind; hold range common practice',
  },
  {
    name: 'multi-frequency VGA CRT',
    analog: true,
    scanlineHz: [VGA_LOWEST_SCANLINE_HZ, 64_000],
    frameHz: [50, 100],
    source: 'common practice',
  },
  {
    name: 'LCD with a VGA input',
    analog: true,
    scanlineHz: [VGA_LOWEST_SCANLINE_HZ, 80_000],
    frameHz: [56, 76],
    source: 'common practice',
  },
  {
    name: 'early multi-scan CRT, 15.5 to 35 kHz',
    analog: true,
    scanlineHz: [15_500, 35_000],
    frameHz: [50, 80],
    source: 'from memory',
  },
  {
    name: 'TTL colour monitor, 200 lines',
    analog: false,
    scanlineHz: fixed(15_700),
    frameHz: [50, 61],
    source: 'IBM PC Technical Reference 6025005 (1981); hold range common practice',
  },
  {
    name: 'TTL enhanced colour monitor, 350 lines',
    analog: false,
    scanlineHz: fixed(21_850),
    frameHz: [58, 62],
    source: 'IBM Enhanced Graphics Adapter manual (1984); hold range common practice',
  },
  {
    name: 'TTL monochrome monitor, 350 lines',
    analog: false,
    scanlineHz: fixed(18_432),
    frameHz: [49, 51],
    source: 'IBM PC Technical Reference 6025005 (1981); hold range common practice',
  },
]

/** Names of the analog kinds that lock to these rates. */
export function monitorsFor(scanlineHz: number, frameHz: number): string[] {
  return MONITOR_KINDS.filter(
    (kind) => kind.analog && within(scanlineHz, kind.scanlineHz) && within(frameHz, kind.frameHz),
  ).map(({ name }) => name)
}

function within(hz: number, [low, high]: readonly [number, number]): boolean {
  return hz >= low && hz <= high
}

/** Why a TTL signal cannot go straight to a VGA monitor, most weighty first; rates in hertz. */
export function whyNotDirect(scanlineHz: number, frameHz: number): string[] {
  const reasons: string[] = []
  const kilohertz = (scanlineHz / 1e3).toFixed(2)
  if (scanlineHz < VGA_LOWEST_SCANLINE_HZ)
    reasons.push(
      `Its scanline rate is ${kilohertz} kHz; most VGA monitors refuse less than ${VGA_LOWEST_SCANLINE_HZ / 1e3} kHz ` +
        '(common practice), and an old one of fixed rate can be damaged.',
    )
  else if (monitorsFor(scanlineHz, frameHz).length === 0)
    reasons.push(
      `No kind of VGA monitor known here locks to ${kilohertz} kHz with ${frameHz.toFixed(2)} frames a second.`,
    )
  reasons.push(
    'Its colours are logic levels of 3 to 5 V; a VGA input takes 0 to 0.7 V into 75 ohm, so full drive would be several ' +
      'times too much.',
    'Its colours are codes: several wires together mean one brightness, which resistors must add up.',
    'Its 9-pin connector is not the 15-pin one, and some of its pins mean something else or carry power.',
  )
  return reasons
}
