// Sums over columns of numbers. Small loops in functions of their own: compiled soon, and for all who call them.

/** Sum of the values from one place up to another. */
export function sumOf(values: Float64Array, from = 0, to: number = values.length): number {
  let sum = 0
  for (let i = from; i < to; i++) sum += values[i]!
  return sum
}

/** Sum of products of two columns of one length. */
export function sumOfProducts(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
}
