// Bytes of a picture → the text by which a page carries it within itself.

/** Characters made at once: an argument list has a limit. */
const PIECE = 8192

/** `data:image/png;base64,…` (RFC 2397). */
export function pngDataUri(png: Uint8Array): string {
  let text = ''
  for (let at = 0; at < png.length; at += PIECE) text += String.fromCharCode(...png.subarray(at, at + PIECE))
  return `data:image/png;base64,${btoa(text)}`
}
