// Resistors and ideal sources -> the voltage of every node: nodal analysis, plain.

/** A resistor between two nodes; nodes are numbered from 0, and node 0 is ground. */
export interface Branch {
  from: number
  to: number
  ohms: number
}

/**
 * Voltages of all nodes while one source after the other is at 1 V and the rest at 0 V. The network is linear, so any
 * state is the sum of these columns times the sources' volts.
 *
 * Kirchhoff's current law at every free node gives G v = i, with G the conductances; solved by Gaussian elimination
 * without pivoting, which is safe here: G is symmetric and diagonally dominant.
 *
 * @param nodes how many there are, ground included
 * @param driven nodes held by an ideal source, none of them ground
 * @returns for each driven node, in its order, the volts of every node; NaN at nodes that reach neither ground nor source
 */
export function unitResponses(
  nodes: number,
  branches: readonly Branch[],
  driven: readonly number[],
): number[][] {
  const row = Array.from({ length: nodes }, () => -1)
  const isHeld = (node: number): boolean => node === 0 || driven.includes(node)
  let free = 0
  for (let node = 1; node < nodes; node++) if (!isHeld(node)) row[node] = free++
  const columns = free + driven.length
  const matrix = Array.from({ length: free }, () => Array.from({ length: columns }, () => 0))

  for (const { from, to, ohms } of branches) {
    const siemens = 1 / ohms
    for (const [here, there] of [
      [from, to],
      [to, from],
    ] as const) {
      const equation = matrix[row[here]!]
      if (equation === undefined) continue
      equation[row[here]!]! += siemens
      if (row[there]! >= 0) equation[row[there]!]! -= siemens
      else if (there !== 0) equation[free + driven.indexOf(there)]! += siemens
    }
  }
  eliminate(matrix, free)

  return driven.map((source, s) =>
    Array.from({ length: nodes }, (_, node) => {
      if (node === source) return 1
      return row[node]! < 0 ? 0 : matrix[row[node]!]![free + s]!
    }),
  )
}

/** Gauss-Jordan, in place: the first `size` columns become the unit matrix, the rest the solutions. */
function eliminate(matrix: number[][], size: number): void {
  for (let pivot = 0; pivot < size; pivot++) {
    const top = matrix[pivot]!
    const by = top[pivot]!
    for (let c = pivot; c < top.length; c++) top[c]! /= by
    for (let r = 0; r < size; r++) {
      const factor = matrix[r]![pivot]!
      if (r === pivot || factor === 0) continue
      for (let c = pivot; c < top.length; c++) matrix[r]![c]! -= factor * top[c]!
    }
  }
}
