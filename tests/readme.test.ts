// The README shows what the tool really prints, and the picture it really draws.

import { readFileSync, writeFileSync } from 'node:fs'
import { PNG } from 'pngjs'
import { PassThrough } from 'node:stream'
import { expect, it } from 'vitest'
import { main } from '../src/cli/main.ts'
import { encodePng, measureCapture, openCapture, renderFrame } from '../src/index.ts'

const README = new URL('../README.md', import.meta.url)
const PICTURE = new URL('../fixtures/demo/tide-board.png', import.meta.url)
const DEMO = 'fixtures/demo/tide-board.vcd.gz'

it("shows the demo's real output", async () => {
  const stdout = new PassThrough()
  const chunks: Buffer[] = []
  stdout.on('data', (chunk: Buffer) => chunks.push(chunk))
  const io = { stdin: new PassThrough(), stdout, stderr: new PassThrough(), env: {} }
  expect(await main(['identify', DEMO], io)).toBe(0)
  const printed = Buffer.concat(chunks).toString()
  const readme = readFileSync(README, 'utf8')
  const block = /```text\n([^]*?)```/.exec(readme)![1]!
  if (process.env.UPDATE_FIXTURES)
    writeFileSync(
      README,
      readme.replace(block, () => printed),
    )
  else expect(block).toBe(printed)
})

it("shows the demo's real picture", async () => {
  const picture = encodePng(renderFrame(await measureCapture(openCapture(DEMO))))
  if (process.env.UPDATE_FIXTURES) writeFileSync(PICTURE, picture)
  const shown = PNG.sync.read(readFileSync(PICTURE))
  const drawn = PNG.sync.read(Buffer.from(picture))
  expect([shown.width, shown.height]).toEqual([drawn.width, drawn.height])
  expect(shown.data.equals(drawn.data)).toBe(true)
})
