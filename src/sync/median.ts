/** The middle of some values, the upper one of two; undefined without any. */
export function median(values: readonly number[]): number | undefined {
  return Float64Array.from(values).sort()[values.length >> 1]
}
