// The files in fixtures/ are what the generator makes. UPDATE_FIXTURES=1 remakes them.

import { readFileSync, writeFileSync } from 'node:fs'
import { gunzipSync } from 'node:zlib'
import { expect, it } from 'vitest'
import { tideBoardCapture } from './support/demo-captures.ts'

const FIXTURES: readonly (readonly [string, () => Uint8Array])[] = [
  ['demo/tide-board.vcd.gz', tideBoardCapture],
]

it.each(FIXTURES)('%s is what the generator makes, byte for byte when unpacked', (name, make) => {
  const file = new URL(`../fixtures/${name}`, import.meta.url)
  const made = make()
  if (process.env.UPDATE_FIXTURES) writeFileSync(file, made)
  expect(gunzipSync(readFileSync(file)).equals(gunzipSync(made))).toBe(true)
})
