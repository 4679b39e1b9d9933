// JSON text -> what an adapter is built of: clock, divider, sync input, memory, video output. Every field is optional;
// a field that is wrong is named with its text line.

import { z } from 'zod'
import { MalformedCaptureError, type SourceAt } from '../errors.ts'
import { JsonOutOfOrder, JsonPlaces, lineAt } from './json-places.ts'

/** Both ends belong to the range. */
export interface Range {
  min: number
  max: number
}

/**
 * A phase-locked loop: VCO = reference / reference divider * multiplier, output = VCO / product of the post-dividers.
 */
export interface PllDescription {
  referenceHz: number
  /** Whole numbers; 1 where absent. */
  referenceDivider?: Range | undefined
  /** Whole numbers. */
  multiplier: Range
  vcoHz: Range
  /** The values one post-divider can take. */
  postDividers?: number[] | undefined
  /** One or two chained post-dividers, each any whole number in its range. */
  postDividerStages?: Range[] | undefined
  /** What the chip behind the loop may be clocked with. */
  outputHz?: Range | undefined
}

/** How sync reaches the scanline counter: every edge, or only what stays for `filterSeconds`. */
export interface SyncInputDescription {
  count?: 'edges' | 'filtered' | undefined
  /** Shortest pulse that passes the filter. */
  filterSeconds?: number | undefined
  /** After an accepted edge, edges are ignored for so long. */
  holdOffSeconds?: number | undefined
}

/** Pins, resistors and load of the video output. */
export interface VideoOutputDescription {
  supplyVolts?: number | undefined
  /** Output impedance of one pin. */
  pinOhms?: number | undefined
  maxPinMilliamps?: number | undefined
  maxTotalMilliamps?: number | undefined
  loadOhms?: number | undefined
  fullScaleVolts?: number | undefined
  /** Bits per colour of a weighted network, or the kind of network. */
  network?: 1 | 2 | 3 | 4 | 'rgbi' | 'mono' | undefined
  series?: 'E12' | 'E24' | 'E48' | 'E96' | undefined
  /** Of the resistors, either way. */
  tolerancePercent?: number | undefined
}

/** An adapter, as far as its builder has decided it. */
export interface AdapterDescription {
  name?: string | undefined
  /** Where the numbers come from. */
  source?: string | undefined
  note?: string | undefined
  /** A fixed clock; excludes `pll`. */
  clockHz?: number | undefined
  pll?: PllDescription | undefined
  clockTolerancePpm?: number | undefined
  clocksPerDot?: number | undefined
  /** Largest number of clocks per dot to consider. */
  maxClocksPerDot?: number | undefined
  /** Binary places of a fractional divider between clock and dots; 0 or absent: whole numbers only. */
  fractionBits?: number | undefined
  /** A video input is unsure while it has been changing for less than this, either side of the edge. */
  setupSeconds?: number | undefined
  sync?: SyncInputDescription | undefined
  ramBytes?: number | undefined
  bitsPerDot?: number | undefined
  output?: VideoOutputDescription | undefined
}

const positive = z.number().positive()
const notNegative = z.number().nonnegative()

/** Bounds the search space: a real loop stays far below. */
const LARGEST_DIVIDER = 4096
const divider = z.int().min(1).max(LARGEST_DIVIDER)

function range(of: z.ZodType<number>): z.ZodType<Range> {
  return z
    .strictObject({ min: of, max: of })
    .refine(({ min, max }) => min <= max, { path: ['max'], error: 'max is below min' })
}

const pll: z.ZodType<PllDescription> = z
  .strictObject({
    referenceHz: positive,
    referenceDivider: range(z.int().min(1).max(64)).optional(),
    multiplier: range(divider),
    vcoHz: range(positive),
    postDividers: z.array(divider).min(1).max(64).optional(),
    postDividerStages: z
      .array(range(z.int().min(1).max(64)))
      .min(1)
      .max(2)
      .optional(),
    outputHz: range(positive).optional(),
  })
  .refine((it) => it.postDividers === undefined || it.postDividerStages === undefined, {
    path: ['postDividerStages'],
    error: 'excludes postDividers: give one of the two',
  })

/** Shape of an adapter's JSON. Hertz, seconds, volts, ohms, milliamperes, bytes, as the names say. */
export const adapterSchema: z.ZodType<AdapterDescription> = z
  .strictObject({
    name: z.string().optional(),
    source: z.string().optional(),
    note: z.string().optional(),
    clockHz: positive.optional(),
    pll: pll.optional(),
    clockTolerancePpm: notNegative.optional(),
    clocksPerDot: z.number().min(1).max(1024).optional(),
    maxClocksPerDot: z.int().min(1).max(1024).optional(),
    fractionBits: z.int().min(0).max(24).optional(),
    setupSeconds: notNegative.optional(),
    sync: z
      .strictObject({
        count: z.enum(['edges', 'filtered']).optional(),
        filterSeconds: notNegative.optional(),
        holdOffSeconds: notNegative.optional(),
      })
      .optional(),
    ramBytes: z.int().nonnegative().optional(),
    bitsPerDot: z.int().min(1).max(32).optional(),
    output: z
      .strictObject({
        supplyVolts: positive.optional(),
        pinOhms: notNegative.optional(),
        maxPinMilliamps: positive.optional(),
        maxTotalMilliamps: positive.optional(),
        loadOhms: positive.optional(),
        fullScaleVolts: positive.optional(),
        network: z.literal([1, 2, 3, 4, 'rgbi', 'mono']).optional(),
        series: z.enum(['E12', 'E24', 'E48', 'E96']).optional(),
        tolerancePercent: z.number().nonnegative().lt(100).optional(),
      })
      .refine(
        ({ supplyVolts, fullScaleVolts }) =>
          supplyVolts === undefined || fullScaleVolts === undefined || fullScaleVolts < supplyVolts,
        { path: ['fullScaleVolts'], error: 'must be below supplyVolts' },
      )
      .optional(),
  })
  .refine((it) => it.clockHz === undefined || it.pll === undefined, {
    path: ['pll'],
    error: 'excludes clockHz: give a fixed clock or a PLL',
  })

/**
 * Reads an adapter's JSON.
 *
 * @param file what to call the text in messages
 * @throws {MalformedCaptureError} ADAPTER_MALFORMED: no JSON, an unknown field, or a value out of range; message and
 *   `at` carry the text line
 */
export function parseAdapter(text: string, file?: string): AdapterDescription {
  const places = placesOf(text, file)
  const result = adapterSchema.safeParse(JSON.parse(text.replace(/^\uFEFF/, '')))
  if (result.success) return result.data
  const issue = result.error.issues[0]!
  const unknown = issue.code === 'unrecognized_keys' ? issue.keys[0] : undefined
  // zod's paths may hold symbols; JSON's cannot
  const path = [...issue.path, ...(unknown === undefined ? [] : [unknown])].map((step) =>
    typeof step === 'number' ? step : String(step),
  )
  const what = unknown === undefined ? issue.message : 'no such field'
  const hint = unknown === undefined ? {} : { hint: hintFor(unknown, path.slice(0, -1)) }
  throw malformed(`${fieldName(path)}: ${what}`, places.lineOf(path), file, hint)
}

function placesOf(text: string, file: string | undefined): JsonPlaces {
  try {
    return new JsonPlaces(text)
  } catch (error) {
    if (error instanceof JsonOutOfOrder)
      throw malformed(`not JSON: ${error.message}`, lineAt(text, error.offset), file, { cause: error })
    throw error
  }
}

/** `pll.postDividerStages[1].max`, as a script would write it. */
function fieldName(path: readonly (string | number)[]): string {
  const name = path.map((step) => (typeof step === 'number' ? `[${step}]` : `.${step}`)).join('')
  return name === '' ? 'the description' : name.replace(/^\./, '')
}

const FIELDS: Readonly<Record<string, string>> = {
  '': 'name source note clockHz pll clockTolerancePpm clocksPerDot maxClocksPerDot fractionBits setupSeconds sync ramBytes bitsPerDot output',
  pll: 'referenceHz referenceDivider multiplier vcoHz postDividers postDividerStages outputHz',
  sync: 'count filterSeconds holdOffSeconds',
  output:
    'supplyVolts pinOhms maxPinMilliamps maxTotalMilliamps loadOhms fullScaleVolts network series tolerancePercent',
}

/** A field of the same spelling elsewhere, else what may stand here. */
function hintFor(unknown: string, parent: readonly (string | number)[]): string {
  const elsewhere = Object.entries(FIELDS).find(([, names]) =>
    names.split(' ').some((name) => name.toLowerCase() === unknown.toLowerCase()),
  )
  if (elsewhere !== undefined) {
    const [where, names] = elsewhere
    const spelled = names.split(' ').find((name) => name.toLowerCase() === unknown.toLowerCase())!
    return `write ${where === '' ? spelled : `${where}.${spelled}`}`
  }
  return `fields here: ${FIELDS[parent.join('.')] ?? 'min max'}`
}

function malformed(
  message: string,
  line: number,
  file: string | undefined,
  more: { hint?: string; cause?: unknown },
): MalformedCaptureError {
  const at: SourceAt = { line, ...(file === undefined ? {} : { file }) }
  return new MalformedCaptureError('ADAPTER_MALFORMED', `line ${line}: ${message}`, at, more)
}
