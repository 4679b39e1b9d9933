// Files that are read and written: nothing overwritten, nothing half written, nothing left behind.

import { execFileSync, spawn } from 'node:child_process'
import {
  chmodSync,
  existsSync,
  linkSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { PassThrough, Writable } from 'node:stream'
import { gzipSync } from 'node:zlib'
import { PNG } from 'pngjs'
import { afterAll, beforeEach, describe, expect, it, test } from 'vitest'
import { main } from '../../src/cli/main.ts'
import { smallCapture } from '../support/small-captures.ts'
import { run, TemporaryFolder, type Ran } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const bytes = smallCapture('cga80', { picture: 'rectangle' })
const capture = folder.file('capture.vcd', bytes)

let output = ''
let outputs = 0
beforeEach(() => {
  const place = folder.join(`out${outputs++}`)
  mkdirSync(place)
  output = `${place}/frame.png`
})

const makePipe = (path: string): unknown => execFileSync('sh', ['-c', 'mkfifo "$0"', path])
const filesBeside = (): string[] => readdirSync(output.replace(/\/[^/]*$/, '')).sort()

function expectRefused(ran: Ran, said: string): void {
  expect(ran).toMatchObject({ status: 2, stdout: '' })
  expect(ran.stderr).toContain(said)
  expect(ran.stderr.split('\n').filter((line) => line.startsWith('rastertap: ')).length).toBe(1)
  expect(ran.stderr).not.toMatch(/^\s+at /m)
}

describe('the output file', () => {
  it('is whole, and alone in its folder', async () => {
    expect((await run(['render', capture, '-o', output])).status).toBe(0)
    expect(filesBeside()).toEqual(['frame.png'])
    expect(PNG.sync.read(readFileSync(output)).width).toBe(640)
  })

  it('is not overwritten', async () => {
    writeFileSync(output, 'mine')
    expectRefused(await run(['render', capture, '-o', output]), 'exists already')
    expect(readFileSync(output, 'utf8')).toBe('mine')
    expect(filesBeside()).toEqual(['frame.png'])
  })

  it('is not overwritten where its name is a link that leads nowhere', async () => {
    symlinkSync('nowhere', output)
    expectRefused(await run(['render', capture, '-o', output]), 'exists already')
    expect(filesBeside()).toEqual(['frame.png'])
  })

  it('is overwritten with --force', async () => {
    writeFileSync(output, 'mine')
    expect(await run(['render', capture, '-o', output, '--force'])).toMatchObject({ status: 0, stderr: '' })
    expect(PNG.sync.read(readFileSync(output)).height).toBe(200)
    expect(filesBeside()).toEqual(['frame.png'])
  })

  it('may be a link with --force: the file it names is replaced, the link stays', async () => {
    const real = output.replace('frame', 'real')
    writeFileSync(real, 'mine')
    symlinkSync(real, output)
    expect((await run(['render', capture, '-o', output, '--force'])).status).toBe(0)
    expect(filesBeside()).toEqual(['frame.png', 'real.png'])
    expect(PNG.sync.read(readFileSync(real)).width).toBe(640)
  })

  it('may be a pipe with --force, which stays a pipe', async () => {
    makePipe(output)
    const reader = spawn('cat', [output], { stdio: ['ignore', 'pipe', 'inherit'] })
    const received: Buffer[] = []
    reader.stdout.on('data', (chunk: Buffer) => received.push(chunk))
    const ended = new Promise((resolve) => reader.once('close', resolve))
    expect((await run(['render', capture, '-o', output, '--force'])).status).toBe(0)
    await ended
    expect(PNG.sync.read(Buffer.concat(received)).width).toBe(640)
    expect(statSync(output).isFIFO()).toBe(true)
  })

  it('is not begun where the capture cannot be drawn', async () => {
    const broken = folder.file('broken.vcd', '$timescale 1 fortnight $end\n')
    const ran = await run(['render', broken, '-o', output])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(filesBeside()).toEqual([])
  })

  it('in a folder that does not exist is refused before the capture is read', async () => {
    const ran = await run(['render', folder.join('no-capture.vcd'), '-o', folder.join('nowhere/frame.png')])
    expectRefused(ran, 'the folder does not exist')
  })

  it('in a file is refused', async () => {
    expectRefused(await run(['render', capture, '-o', `${capture}/frame.png`]), 'is not a folder')
  })

  it.each([[[]], [['--force']]])('that is a folder is refused (%j)', async (options) => {
    mkdirSync(output)
    expectRefused(await run(['render', capture, '-o', output, ...options]), 'it is a folder')
    expect(filesBeside()).toEqual(['frame.png'])
  })

  const isRoot = process.getuid?.() === 0
  it.skipIf(isRoot)(
    isRoot ? 'in a read-only folder: not tried, root may write anywhere' : 'in a read-only folder is refused',
    async () => {
      const place = output.replace(/\/[^/]*$/, '')
      chmodSync(place, 0o555)
      expectRefused(await run(['render', capture, '-o', output]), 'permission denied')
      expect(filesBeside()).toEqual([])
      chmodSync(place, 0o755)
    },
  )

  it('with a name that is too long is refused', async () => {
    expectRefused(await run(['render', capture, '-o', `${output}${'g'.repeat(300)}`]), 'too long')
    expect(filesBeside()).toEqual([])
  })
})

describe('the capture is never overwritten', () => {
  test.each<[string, (name: string) => void]>([
    ['by its own name', () => undefined],
    ['by a hard link', (name) => linkSync(capture, name)],
    ['by a symbolic link', (name) => symlinkSync(capture, name)],
  ])('%s', async (how, make) => {
    make(output)
    const name = how === 'by its own name' ? `${folder.path}/./capture.vcd` : output
    expectRefused(await run(['render', capture, '-o', name, '--force']), 'the output is the capture itself')
    expect(readFileSync(capture).equals(bytes)).toBe(true)
  })

  it('when it comes through standard input', async () => {
    const stdin = Object.assign(new PassThrough(), { fd: openSync(capture, 'r') })
    const stderr = new PassThrough()
    const status = await main(['render', '-', '-o', capture, '--force'], {
      stdin,
      stdout: new PassThrough(),
      stderr,
      env: {},
    })
    expect(status).toBe(2)
    expect(String(stderr.read())).toContain('the output is the capture itself')
    expect(readFileSync(capture).equals(bytes)).toBe(true)
  })
})

describe('standard output that fails', () => {
  class Failing extends Writable {
    readonly #code: string
    constructor(code: string) {
      super()
      this.#code = code
    }
    override _write(_chunk: unknown, _encoding: string, done: (error: Error) => void): void {
      setTimeout(() => done(Object.assign(new Error('no'), { code: this.#code })), 5)
    }
  }

  const argvs = [['modes'], ['modes', '--json'], ['--help'], ['identify', capture]]
  test.each(argvs)('%s %s says so once', async (...argv) => {
    const stderr = new PassThrough()
    const status = await main(argv, {
      stdin: new PassThrough(),
      stdout: new Failing('ENOSPC'),
      stderr,
      env: {},
    })
    expect(status).toBe(2)
    expect(String(stderr.read())).toBe('rastertap: cannot write the answer: the disk is full\n')
  })

  test.each(argvs)('%s %s ends quietly where the reader has gone', async (...argv) => {
    const stderr = new PassThrough()
    const status = await main(argv, {
      stdin: new PassThrough(),
      stdout: new Failing('EPIPE'),
      stderr,
      env: {},
    })
    expect(status).toBe(0)
    expect(stderr.read()).toBe(null)
  })

  it('does not stop anything where only stderr is gone', async () => {
    const stdout = new PassThrough()
    const status = await main(['identify', folder.join('missing.vcd')], {
      stdin: new PassThrough(),
      stdout,
      stderr: new Failing('EPIPE'),
      env: {},
    })
    expect(status).toBe(2)
    expect(stdout.read()).toBe(null)
  })
})

describe('the input file', () => {
  const unreadable = (file: string, why: string): string =>
    `${file}: the capture cannot be read: ${why} [CAPTURE_NOT_READABLE]\n`

  it('that does not exist is named', async () => {
    const file = folder.join('missing.vcd')
    const ran = await run(['identify', file])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(unreadable(file, 'there is no such file'))
  })

  it('that is a folder is named', async () => {
    const ran = await run(['identify', folder.path])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(unreadable(folder.path, 'it is a directory'))
  })

  it('may be a named pipe', async () => {
    const pipe = folder.join('pipe')
    makePipe(pipe)
    const writer = spawn('sh', ['-c', `cat "${capture}" > "${pipe}"`])
    const ran = await run(['identify', pipe])
    writer.kill()
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(ran.stdout).toContain('cga-200')
  })

  it('may be a named pipe with an error in it: the place is told without opening it again', async () => {
    const pipe = folder.join('pipe2')
    makePipe(pipe)
    const bad = folder.file('bad.vcd', `${Buffer.from(bytes).toString('latin1', 0, 100_000)}\n%\n`)
    const fromFile = await run(['identify', bad])
    expect(fromFile.stderr).toMatch(/bad\.vcd:\d+:1: .*\[VCD_TOKEN_UNEXPECTED\]\n {2}%\n {2}\^\n/)
    const writer = spawn('sh', ['-c', `cat "${bad}" > "${pipe}"`])
    const ran = await run(['identify', pipe])
    writer.kill()
    expect(ran).toEqual({ ...fromFile, stderr: fromFile.stderr.replace(bad, pipe) })
    const through = await run(['identify', '-'], { stdin: [readFileSync(bad)] })
    expect(through).toEqual({ ...fromFile, stderr: fromFile.stderr.replace(bad, 'standard input') })
  })

  it('may be packed', async () => {
    const packed = folder.file('packed.vcd.gz', gzipSync(bytes))
    const ran = await run(['identify', packed, '--json'])
    const bare = await run(['identify', capture, '--json'])
    expect(ran.stdout.replace(packed, capture)).toBe(bare.stdout)
  })

  it('may be packed in several pieces, one after the other', async () => {
    const pieces = [bytes.subarray(0, 1000), bytes.subarray(1000, 1000), bytes.subarray(1000)]
    const packed = folder.file('pieces.vcd.gz', Buffer.concat(pieces.map((piece) => gzipSync(piece))))
    const ran = await run(['identify', packed, '--json'])
    const bare = await run(['identify', capture, '--json'])
    expect(ran.stdout.replace(packed, capture)).toBe(bare.stdout)
  })

  it('is read though its name has control characters, and shown without them', async () => {
    const file = folder.file('\u001b[31m\u202egpj.vcd', bytes)
    const ran = await run(['identify', file])
    expect(ran.status).toBe(0)
    expect(ran.stdout.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Bidi_Control}]/u)
    const json = await run(['identify', file, '--json'])
    expect(json.stdout.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Bidi_Control}]/u)
    expect((JSON.parse(json.stdout) as { capture: { file: string } }).capture.file).toBe(file)
  })
})

describe('packed data', () => {
  const packed = gzipSync(bytes)

  it('that breaks off is measured as far as it goes, with a notice', async () => {
    const file = folder.file('cut.vcd.gz', packed.subarray(0, Math.floor(packed.length * 0.98)))
    const ran = await run(['identify', file, '--json'])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    const report = JSON.parse(ran.stdout) as {
      capture: { notices: { code: string; firstAtByte: number }[]; durationSeconds: number }
    }
    const notice = report.capture.notices.find(({ code }) => code === 'CAPTURE_GZIP_CUT_SHORT')
    expect(notice?.firstAtByte).toBeGreaterThan(bytes.length * 0.9)
    expect(notice?.firstAtByte).toBeLessThan(bytes.length)
  })

  test.each([
    ['nothing but the first two bytes', packed.subarray(0, 2), 'breaks off after 0 unpacked bytes'],
    ['nothing but the header', packed.subarray(0, 10), 'breaks off after 0 unpacked bytes'],
    [
      'an unknown method',
      Buffer.concat([packed.subarray(0, 2), Buffer.of(7), packed.subarray(3)]),
      'is damaged after 0 unpacked bytes',
    ],
    [
      'a wrong checksum',
      Buffer.concat([packed.subarray(0, -8), Buffer.alloc(4), packed.subarray(-4)]),
      'is damaged after',
    ],
    [
      'noise in the middle',
      Buffer.concat([packed.subarray(0, 9000), Buffer.alloc(200, 0xa5), packed.subarray(9200)]),
      'is damaged after',
    ],
  ])('with %s is refused', async (name, contents, said) => {
    const file = folder.file('damaged.vcd.gz', contents)
    const ran = await run(['identify', file])
    expect(ran, name).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(`${file}: the compressed data ${said}`)
    expect(ran.stderr).toContain('[CAPTURE_GZIP_BROKEN]')
  })

  it('within packed data is refused', async () => {
    const ran = await run(['identify', folder.file('twice.vcd.gz.gz', gzipSync(packed))])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain('found gzip data where it should be unpacked')
    expect(ran.stderr).toContain('[CAPTURE_FORMAT_UNKNOWN]')
  })

  it('that unpacks without end is refused, in flat memory', async () => {
    // gzip members may follow each other: half a gigabyte of one row, packed once
    const rows = gzipSync(Buffer.alloc(64 * 1024 * 1024, '0,0\n'), { level: 9 })
    const head = gzipSync('A,B\n0,1\n')
    const file = folder.file('bomb.csv.gz', Buffer.concat([head, ...Array.from({ length: 8 }, () => rows)]))
    expect(statSync(file).size).toBeLessThan(1024 * 1024)
    const before = process.memoryUsage().arrayBuffers
    const ran = await run(['identify', file])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain('unpacks to more than 1000 times its size')
    expect(ran.stderr).toContain('[CAPTURE_GZIP_BROKEN]')
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(128 * 1024 * 1024)
  }, 60_000)
})

it('leaves the capture as it was', () => {
  expect(existsSync(capture)).toBe(true)
  expect(readFileSync(capture).equals(bytes)).toBe(true)
})
