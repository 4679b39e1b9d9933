// One input through the whole of a command, in process: an answer or one clear error, JSON that its schema allows, and
// nothing on the terminal that could steer it.

import { mkdtempSync, readFileSync, rmSync, existsSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PNG } from 'pngjs'
import { identifySchema } from '../../src/report/identify-schema.ts'
import { pulsesSchema } from '../../src/report/pulses-schema.ts'
import { renderSchema } from '../../src/report/render-schema.ts'
import { run } from '../cli/run-main.ts'
import { chance, pick, type Random } from '../support/random.ts'
import { Finding, must, timeAllowed, workedMs } from './finding.ts'

const SCHEMAS = { identify: identifySchema, pulses: pulsesSchema, render: renderSchema }
/** A command may take this long with the smallest of captures. */
const GRACE_MS = 4000
// C0 but for line feeds, DEL, C1, and what turns the direction of text
const STEERING = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/u // oxlint-disable-line no-control-regex

/** Runs commands on inputs; has a folder for pictures, gone after `close`. */
export class CommandCheck {
  readonly #folder = mkdtempSync(join(tmpdir(), 'rastertap-fuzz-'))
  readonly #stringify = JSON.stringify
  #notFinite = ''

  constructor() {
    // in JSON, what is not finite is null, and null is allowed in places: it is looked for before
    JSON.stringify = ((...given: Parameters<typeof JSON.stringify>) => {
      this.#look(given[0], '')
      return this.#stringify(...given)
    }) as typeof JSON.stringify
  }

  close(): void {
    JSON.stringify = this.#stringify
    rmSync(this.#folder, { recursive: true, force: true })
  }

  #look(value: unknown, path: string): void {
    if (typeof value === 'number' && !Number.isFinite(value)) this.#notFinite ||= `${path} is ${value}`
    if (typeof value !== 'object' || value === null) return
    for (const [key, inner] of Object.entries(value)) this.#look(inner, `${path}.${key}`)
  }

  /**
   * @returns the command with `answer` or the error's code
   * @throws {Finding}
   */
  async check(bytes: Uint8Array, random: Random): Promise<string> {
    const name = pick(random, ['identify', 'identify', 'render', 'render', 'pulses', 'report'] as const)
    const output = join(this.#folder, 'out')
    const argv = [name, '-', ...optionsOf(name, output, random)]
    this.#notFinite = ''
    const began = workedMs()
    const ran = await run(argv, { stdin: [bytes] })
    const took = workedMs() - began
    const said = `${argv.join(' ')}: status ${ran.status}, ${ran.stderr.slice(0, 2000)}`
    try {
      must(
        took < timeAllowed(bytes.length, GRACE_MS),
        () => `${bytes.length} bytes took ${took.toFixed(0)} ms: ${said}`,
      )
      must(this.#notFinite === '', () => `${said}: ${this.#notFinite}`)
      must([0, 1, 2].includes(ran.status), () => said)
      must(!STEERING.test(ran.stdout) && !STEERING.test(ran.stderr), () => `steers a terminal: ${said}`)
      if (ran.status === 2) {
        must(ran.stdout === '' && !existsSync(output), () => `an answer and an error: ${said}`)
        const code = /\[([A-Z_]+)\]\n/.exec(ran.stderr)?.[1]
        must(
          code !== undefined && /^[^\n]+\n(?: {2}[^\n]*\n {2} *\^\n)?(?:hint: [^\n]+\n)?$/.test(ran.stderr),
          () => `no clear error: ${said}`,
        )
        return `${name} ${code}`
      }
      must(ran.stderr === '', () => said)
      must(
        !/\bNaN\b|Infinity|undefined/.test(ran.stdout.replaceAll(/"(?:[^"\\]|\\.)*"/g, '""')) ||
          argv.includes('--map'),
        () => `${said}${ran.stdout}`,
      )
      this.#checkAnswer(name, argv, ran.stdout, output)
      return `${name} answer`
    } finally {
      rmSync(output, { force: true })
    }
  }

  #checkAnswer(name: string, argv: readonly string[], stdout: string, output: string): void {
    if (argv.includes('--json')) {
      const schema = SCHEMAS[name as keyof typeof SCHEMAS]
      const parsed = schema.safeParse(JSON.parse(stdout))
      if (!parsed.success) throw new Finding(`${argv.join(' ')}: ${parsed.error.message}`)
    }
    if (name === 'render') {
      const { width, height } = PNG.sync.read(readFileSync(output))
      must(
        width > 0 && height > 0 && width * height <= 16_000_000 * 36,
        () => `a picture of ${width} by ${height}`,
      )
    }
    if (name === 'report') {
      const page = readFileSync(output, 'utf8')
      const shown = page.replaceAll(/<script[\s\S]*?<\/script>/g, '')
      must(
        !STEERING.test(shown),
        () =>
          `a character that steers on the page: ${JSON.stringify(new RegExp(`.{30}${STEERING.source}.{30}`, 'su').exec(shown)?.[0])}`,
      )
      must(
        page.startsWith('<!doctype html>') && page.includes('Content-Security-Policy'),
        () => `no page: ${page.slice(0, 100)}`,
      )
      must(
        !/[=">\s](?:NaN|-?Infinity|undefined)[\s"<]/.test(shown),
        () => `not finite on the page: ${/.{40}(?:NaN|Infinity|undefined).{40}/s.exec(page)?.[0]}`,
      )
    }
  }
}

function optionsOf(name: string, output: string, random: Random): string[] {
  const options: string[] = []
  if (name !== 'report' && chance(random, 0.7)) options.push('--json')
  if (name === 'render' || name === 'report') options.push('-o', output)
  if (chance(random, 0.05))
    options.push('--rate', pick(random, ['24M', '1', '1e-300', '1e300', '14.318181MHz']))
  if (chance(random, 0.05)) options.push('--time-unit', pick(random, ['s', 'ns', 'ps', 'samples']))
  if (chance(random, 0.05))
    options.push(
      '--map',
      pick(random, [
        'hsync=HSYNC',
        'hsync=D0,vsync=D1',
        'csync=VSYNC',
        'hsync=R',
        'dot-clock=R',
        'display-enable=G',
        'red=D9,hsync=D0',
      ]),
    )
  if (name === 'render') {
    if (chance(random, 0.3)) options.push('--full-raster')
    if (chance(random, 0.1)) options.push('--aspect')
    const frames = [
      ['--frame', String(random.below(3))],
      ['--frame', 'all', '--sheet'],
      ['--difference', '0,1'],
    ]
    options.push(...(frames[random.below(12)] ?? []))
    if (chance(random, 0.1))
      options.push('--palette', pick(random, ['rgbi', 'rgb', 'mono', 'grey', 'rgbrgb']))
  }
  if (name === 'identify' && chance(random, 0.3)) options.push('--timing')
  if (name === 'pulses' && chance(random, 0.3)) options.push('--plot')
  if (name === 'pulses' && chance(random, 0.2)) options.push('--clock', '125M')
  return options
}
