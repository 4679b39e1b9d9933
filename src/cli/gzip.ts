// Bytes → gzip, in chunks, with a header that does not depend on when and where it was made.

import { pipeline, Readable } from 'node:stream'
import { createGzip } from 'node:zlib'

/** RFC 1952, 2.3: the tenth byte of the header names the operating system; 255 = unknown. */
const OS_AT = 9
const OS_UNKNOWN = 255

/** Packs what comes; the time in the header is 0, as Node's zlib leaves it. */
export async function* gzipped(chunks: Iterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  const gzip = createGzip({ level: 9 })
  // an error of the source comes out of `gzip` below; here it is only to be heard
  pipeline(Readable.from(chunks), gzip, () => undefined)
  let passed = 0
  for await (const chunk of gzip) {
    const bytes = chunk as Uint8Array
    const at = OS_AT - passed
    if (at >= 0 && at < bytes.length) bytes[at] = OS_UNKNOWN
    passed += bytes.length
    yield bytes
  }
}
