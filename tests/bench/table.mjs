// Results → Markdown.

/**
 * @typedef {object} Result
 * @property {import('./inputs.mjs').Input} input
 * @property {import('./contenders.mjs').Contender} contender
 * @property {number} megabytesPerSecond median of the runs
 * @property {number | null} peakBytes greatest of the runs
 */

/**
 * @param {readonly Result[]} results of one input, our reader first
 * @returns {string} rows of the table, without its head
 */
export function tableRows(results) {
  const reader = results[0]
  return results
    .map(({ input, contender, megabytesPerSecond, peakBytes }) => {
      const ratio = reader.megabytesPerSecond / megabytesPerSecond
      return row([
        input.name,
        contender.name,
        megabytesPerSecond.toFixed(megabytesPerSecond < 100 ? 1 : 0),
        ratio.toFixed(2),
        peakBytes === null ? '–' : megabytes(peakBytes),
      ])
    })
    .join('\n')
}

export const TABLE_HEAD = [
  row(['input', 'contender', 'MB/s', 'our reader / it', 'peak memory, MB']),
  '|---|---|---:|---:|---:|',
].join('\n')

export const MEMORY_HEAD = [
  row(['input', 'smaller, MB', 'peak memory, MB', 'larger, MB', 'peak memory, MB', 'ratio']),
  '|---|---:|---:|---:|---:|---:|',
].join('\n')

/** @param {readonly [number, number]} sizes in bytes @param {readonly [number, number]} peaks in bytes */
export function memoryRow(name, sizes, peaks) {
  const cells = sizes.flatMap((size, i) => [megabytes(size), megabytes(peaks[i])])
  return row([name, ...cells, (peaks[1] / peaks[0]).toFixed(2)])
}

function row(cells) {
  return `| ${cells.join(' | ')} |`
}

function megabytes(bytes) {
  return (bytes / 1e6).toFixed(0)
}
