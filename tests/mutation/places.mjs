// Where a mutant shows: at its own place, or, for a constant of a module, wherever functions use that constant.

import { parseSync } from 'oxc-parser'

/**
 * @param {Map<string, string>} sources of the whole program, by file
 * @returns {(mutant: { file: string, reached: number }) => { places: { file: string, offset: number }[], names: string[] }} with
 *   the constants that it shows in: a test may look at these itself
 */
export function placesOf(sources) {
  const modules = new Map([...sources].map(([file, source]) => [file, outlineOf(file, source)]))
  /** A word → where it stands in each module. */
  const uses = new Map()
  for (const [file, source] of sources) {
    for (const { 0: word, index } of source.matchAll(/[\w$]+/g)) {
      if (!uses.has(word)) uses.set(word, [])
      uses.get(word).push({ file, offset: index })
    }
  }
  const usesOf = (name, met) => {
    if (met.has(name)) return []
    met.add(name)
    return uses.get(name).flatMap((use) => {
      const { functions, constants } = modules.get(use.file)
      if (isIn(functions, use.offset)) return [use]
      const constant = constants.find((one) => isIn([one], use.offset))
      return constant ? usesOf(constant.name, met) : []
    })
  }
  return ({ file, reached }) => {
    const { functions, constants } = modules.get(file)
    if (isIn(functions, reached)) return { places: [{ file, offset: reached }], names: [] }
    const constant = constants.find((one) => isIn([one], reached))
    const names = new Set()
    return { places: constant ? usesOf(constant.name, names) : [], names: [...names] }
  }
}

function isIn(ranges, offset) {
  return ranges.some(({ start, end }) => start <= offset && offset < end)
}

/** Functions and classes run when they are called; the names of what is worked out once, when the module loads. */
function outlineOf(file, source) {
  const functions = []
  const constants = []
  const visit = (node, inFunction) => {
    if (node === null || typeof node !== 'object') return
    if (Array.isArray(node)) return node.forEach((one) => visit(one, inFunction))
    if (typeof node.type !== 'string') return
    const runsLater = /Function|PropertyDefinition/.test(node.type) || node.type === 'FunctionBody'
    if (runsLater && !inFunction) functions.push({ start: node.start, end: node.end })
    if (node.type === 'VariableDeclarator' && !inFunction && node.id.type === 'Identifier')
      constants.push({ start: node.start, end: node.end, name: node.id.name })
    for (const key of Object.keys(node)) if (key !== 'type') visit(node[key], inFunction || runsLater)
  }
  visit(parseSync(file, source).program, false)
  return { functions, constants }
}
