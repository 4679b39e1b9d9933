// The installed tool in processes of its own, with an almost empty environment.

import { execFileSync, spawn, type ChildProcess } from 'node:child_process'
import { existsSync, mkdirSync, openSync, readdirSync, readFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest'
import { identifySchema } from '../../src/report/identify-schema.ts'
import { smallCapture } from '../support/small-captures.ts'
import { BIN, buildTool } from './built-tool.ts'
import { TemporaryFolder, type Ran } from './run-main.ts'

const ENV = { PATH: process.env.PATH ?? '', NO_COLOR: '1' }

const folder = new TemporaryFolder()
afterAll(folder.remove)

const bytes = smallCapture('cga80', { picture: 'rectangle' })
const capture = folder.file('capture.vcd', bytes)

beforeAll(buildTool, 120_000)

function start(argv: readonly string[], stdio: ('pipe' | number)[] = ['pipe', 'pipe', 'pipe']): ChildProcess {
  return spawn(process.execPath, [BIN, ...argv], { env: ENV, stdio, cwd: folder.path })
}

function ended(child: ChildProcess): Promise<Ran> {
  const out: Buffer[] = []
  const err: Buffer[] = []
  child.stdout?.on('data', (chunk: Buffer) => out.push(chunk))
  child.stderr?.on('data', (chunk: Buffer) => err.push(chunk))
  return new Promise((resolve) => {
    child.once('close', (code) => {
      resolve({
        status: code ?? -1,
        stdout: Buffer.concat(out).toString(),
        stderr: Buffer.concat(err).toString(),
      })
    })
  })
}

/** Runs with standard input given in pieces, each written when the one before is gone. */
async function runTool(argv: readonly string[], stdin: readonly Uint8Array[] = []): Promise<Ran> {
  const child = start(argv)
  const done = ended(child)
  // the tool may end before it has read everything
  child.stdin!.on('error', () => undefined)
  for (const piece of stdin) {
    await new Promise((resolve) => child.stdin!.write(piece, resolve))
    if (piece.length < 10) await new Promise((resolve) => setTimeout(resolve, 50))
  }
  child.stdin!.end()
  return await done
}

describe('the tool', () => {
  it('identifies a file', async () => {
    const ran = await runTool(['identify', capture])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(ran.stdout).toMatch(/^CGA.*\(cga-200\), confidence/)
  })

  test.each([
    ['as it is', [bytes]],
    ['packed', [gzipSync(bytes)]],
    ['one byte first', [bytes.subarray(0, 1), bytes.subarray(1)]],
    [
      'packed, one byte first',
      [gzipSync(bytes).subarray(0, 1), gzipSync(bytes).subarray(1, 2), gzipSync(bytes).subarray(2)],
    ],
  ])('reads standard input: %s', async (_, pieces) => {
    const ran = await runTool(['identify', '-', '--json'], pieces)
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    const report = identifySchema.parse(JSON.parse(ran.stdout))
    expect(report.capture.file).toBe('-')
    expect(report.main.standard?.id).toBe('cga-200')
  })

  it('reads a file that is redirected', async () => {
    const child = start(['identify', '-', '--json'], [openSync(capture, 'r'), 'pipe', 'pipe'])
    const ran = await ended(child)
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(identifySchema.parse(JSON.parse(ran.stdout)).main.raster.dotsPerScanline).toBe(912)
  })

  it('draws a frame from standard input', async () => {
    const ran = await runTool(['render', '-', '-o', 'frame.png', '--json'], [bytes])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(JSON.parse(ran.stdout)).toMatchObject({ widthPixels: 640, heightPixels: 200, file: 'frame.png' })
    expect(readFileSync(folder.join('frame.png')).subarray(1, 4).toString()).toBe('PNG')
  })

  test.each([
    ['no standard fits', ['identify', 'unknown.vcd'], 1],
    ['a word that is no command', ['identfy'], 2],
    ['a capture that is not there', ['identify', 'missing.vcd'], 2],
    ['a capture that is none', ['identify', '/dev/null'], 2],
  ])('exits as it should: %s', async (_, argv, status) => {
    folder.file('unknown.vcd', smallCapture('uncatalogued', { picture: 'rectangle', sampleRateHz: 50e6 }))
    const ran = await runTool(argv)
    expect(ran.status).toBe(status)
    if (status === 2) {
      expect(ran.stdout).toBe('')
      expect(ran.stderr).not.toMatch(/^\s+at /m)
    }
  })

  it('stops at an error though the writer of the pipe goes on', async () => {
    const child = start(['identify', '-'])
    const done = ended(child)
    child.stdin!.on('error', () => undefined)
    // never ended
    child.stdin!.write('$timescale 1 fortnight $end\n'.padEnd(8192))
    const ran = await done
    child.stdin!.destroy()
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain('standard input:1:12: ')
    expect(ran.stderr).toContain('[VCD_TIMESCALE_MALFORMED]')
  })
})

describe('standard output', () => {
  test.each([[['modes']], [['modes', '--json']], [['--help']], [['identify', capture]]])(
    'of %j may be closed by its reader early',
    async (argv) => {
      const child = start(argv)
      child.stdout!.destroy()
      const ran = await ended(child)
      expect(ran).toEqual({ status: 0, stdout: '', stderr: '' })
    },
  )

  it('may be closed after its first line', () => {
    const script = `"${process.execPath}" "${BIN}" modes --json | head -n 1; echo "$?"`
    const printed = execFileSync('sh', ['-c', script], { env: ENV, stdio: ['ignore', 'pipe', 'inherit'] })
    expect(printed.toString()).toBe('{\n0\n')
  })

  const hasFull = existsSync('/dev/full')
  test.skipIf(!hasFull).each([[['modes']], [['--version']], [['identify', capture, '--json']]])(
    hasFull
      ? 'that takes nothing is told once: %j'
      : 'that takes nothing: not tried, there is no /dev/full (%j)',
    async (argv) => {
      const child = start(argv, ['pipe', openSync('/dev/full', 'w'), 'pipe'])
      expect(await ended(child)).toEqual({
        status: 2,
        stdout: '',
        stderr: 'rastertap: cannot write the answer: the disk is full\n',
      })
    },
  )

  it('and standard error may both be gone', async () => {
    const child = start(['identify', 'missing.vcd'])
    child.stdout!.destroy()
    child.stderr!.destroy()
    expect((await ended(child)).status).toBe(2)
  })
})

describe('an output file', () => {
  const long = ['synthesize', '--mode', 'cga-200', '--frames', '3000', '--format', 'vcd']

  test.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)(
    'whose writing ends with %s leaves nothing',
    async (signal) => {
      const place = folder.join(signal)
      mkdirSync(place)
      const child = start([...long, '-o', join(place, 'long.vcd')])
      const done = ended(child)
      const gone = new Promise<unknown>((resolve) => child.once('exit', (_, by) => resolve(by)))
      while (readdirSync(place).length === 0) await new Promise((resolve) => setTimeout(resolve, 10))
      expect(readdirSync(place)[0]).toMatch(/^\.long\.vcd\..*\.part$/)
      child.kill(signal)
      expect(await gone).toBe(signal)
      expect(await done).toMatchObject({ stdout: '', stderr: '' })
      expect(readdirSync(place)).toEqual([])
    },
  )

  test.skipIf(!existsSync('/dev/full')).each([
    ['render', capture, '-o'],
    ['pulses', capture, '--csv'],
    ['report', capture, '-o'],
    ['synthesize', '--mode', 'cga-200', '--format', 'vcd', '-o'],
  ])('that has no room is told once: %s', async (...argv) => {
    expect(await ended(start([...argv, '/dev/full', '--force']))).toEqual({
      status: 2,
      stdout: '',
      stderr: 'rastertap: cannot write /dev/full: the disk is full\n',
    })
  })

  it('that grows larger than a file may be is told, and nothing of it stays', async () => {
    const place = folder.join('limited')
    mkdirSync(place)
    // 1024-byte blocks in bash; less than any capture of a frame
    const script = `ulimit -f 16; exec "${process.execPath}" "${BIN}" ${long.join(' ')} -o "${place}/long.vcd"`
    const ran = await ended(spawn('bash', ['--norc', '-c', script], { env: ENV }))
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toBe(
      `rastertap: cannot write ${place}/long.vcd: it would be larger than a file may be\n`,
    )
    expect(readdirSync(place)).toEqual([])
  })
})

describe('start-up', () => {
  /** File URLs of every module that a run loads, as V8's coverage lists them. */
  async function modulesOf(argv: readonly string[]): Promise<string[]> {
    const coverage = folder.join(`coverage-${argv.join('')}`)
    const child = spawn(process.execPath, [BIN, ...argv], { env: { ...ENV, NODE_V8_COVERAGE: coverage } })
    expect((await ended(child)).status).toBe(0)
    const reports = readdirSync(coverage).map(
      (name) => JSON.parse(readFileSync(join(coverage, name), 'utf8')) as { result: { url: string }[] },
    )
    return reports
      .flatMap(({ result }) => result.map(({ url }) => url))
      .filter((url) => url.startsWith('file:'))
  }

  test.each([[['--version']], [['--help']]])(
    'of %j loads no reader, no schema, no picture writer',
    async (argv) => {
      const modules = await modulesOf(argv)
      expect(modules.map((url) => basename(url))).toContain('rastertap.js')
      expect(modules.filter((url) => /node_modules\/(?!commander\/)/.test(url))).toEqual([])
      expect(modules.filter((url) => /\/(?:measure|open-capture|standards)\.js$/.test(url))).toEqual([])
    },
  )

  it('of modes loads no reader and no schema', async () => {
    const modules = await modulesOf(['modes'])
    expect(modules.map((url) => basename(url))).toContain('standards.js')
    expect(modules.filter((url) => /node_modules\/(?!commander\/)/.test(url))).toEqual([])
  })

  it('of identify loads no schema and no picture writer', async () => {
    const modules = await modulesOf(['identify', capture])
    expect(modules.map((url) => basename(url))).toContain('measure.js')
    expect(modules.filter((url) => /node_modules\/(?:zod|pngjs)\//.test(url))).toEqual([])
  })
})
