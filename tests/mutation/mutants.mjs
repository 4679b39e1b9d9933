// The small changes that a program can suffer: one operator or one constant at a time, found in the syntax tree.

import { parseSync } from 'oxc-parser'

/**
 * @typedef {object} Mutant
 * @property {string} file as it was given
 * @property {number} line from 1
 * @property {number} start offset of what is replaced
 * @property {number} end
 * @property {number} reached offset that a test must reach for it to make a difference
 * @property {string} before
 * @property {string} after
 */

/** What stands for what. Each is wrong by as little as can be. */
const BINARY = {
  '<': ['<=', '>='],
  '<=': ['<', '>'],
  '>': ['>=', '<='],
  '>=': ['>', '<'],
  '===': ['!=='],
  '!==': ['==='],
  '+': ['-'],
  '-': ['+'],
  '*': ['/'],
  '/': ['*'],
  '%': ['*'],
  '**': ['*'],
  '&': ['|'],
  '|': ['&'],
  '^': ['|'],
  '<<': ['>>>'],
  '>>': ['<<'],
  '>>>': ['<<'],
}
const LOGICAL = { '&&': ['||'], '||': ['&&'], '??': ['&&'] }
const ASSIGNMENT = { '+=': ['-='], '-=': ['+='], '*=': ['/='], '/=': ['*='], '|=': ['&='], '&=': ['|='] }
const UPDATE = { '++': ['--'], '--': ['++'] }

/**
 * All mutants of one source, in the order of the text. Types and texts for people are left alone.
 *
 * @param {string} file
 * @param {string} source
 * @returns {Mutant[]}
 */
export function mutantsOf(file, source) {
  const { program, errors } = parseSync(file, source)
  if (errors.length > 0) throw new Error(`${file}: ${errors[0].message}`)
  const lineStarts = [0]
  for (let at = 0; at < source.length; at++) if (source[at] === '\n') lineStarts.push(at + 1)
  const lineOf = (at) => lineStarts.findLastIndex((start) => start <= at) + 1
  /** @type {Mutant[]} */
  const mutants = []
  const add = (start, end, after, reached = start) => {
    mutants.push({ file, line: lineOf(start), start, end, reached, before: source.slice(start, end), after })
  }
  const operator = (from, to, sign, replacements, reached) => {
    const start = source.indexOf(sign, from)
    if (start < 0 || start >= to) return
    for (const after of replacements ?? []) add(start, start + sign.length, after, reached)
  }
  /** Comparisons of running extremes: where both sides are equal, taking the one for the other changes nothing. */
  const ofExtremes = new Set()
  const visit = (node) => {
    if (node === null || typeof node !== 'object') return
    if (Array.isArray(node)) {
      for (const one of node) visit(one)
      return
    }
    if (typeof node.type !== 'string' || isType(node.type)) return
    switch (node.type) {
      case 'IfStatement':
        if (isRunningExtreme(node, (part) => source.slice(part.start, part.end))) ofExtremes.add(node.test)
        break
      case 'BinaryExpression':
        operator(
          node.left.end,
          node.right.start,
          node.operator,
          BINARY[node.operator]?.filter((after) => !ofExtremes.has(node) || after[0] !== node.operator[0]),
        )
        break
      case 'LogicalExpression':
        // V8 counts the sign to its right side, which is often left out; a change shows wherever the left side is reached
        operator(node.left.end, node.right.start, node.operator, LOGICAL[node.operator], node.start)
        break
      case 'AssignmentExpression':
        operator(node.left.end, node.right.start, node.operator, ASSIGNMENT[node.operator])
        break
      case 'UpdateExpression':
        operator(node.start, node.end, node.operator, UPDATE[node.operator])
        break
      case 'UnaryExpression':
        if (node.operator === '!' || node.operator === '-') add(node.start, node.start + 1, '')
        break
      case 'Literal':
        if (typeof node.value === 'number') add(node.start, node.end, changedNumber(node.value))
        else if (typeof node.value === 'boolean') add(node.start, node.end, String(!node.value))
        break
      case 'ThrowStatement':
      case 'ImportDeclaration':
      case 'TemplateLiteral':
        return
    }
    for (const key of Object.keys(node)) if (key !== 'type') visit(node[key])
  }
  visit(program)
  return mutants.sort((a, b) => a.start - b.start)
}

/** Types and what belongs to them have no effect when the program runs; `x!`, `x as T` and the like hold expressions. */
function isType(type) {
  const holdsExpression = ['TSNonNullExpression', 'TSAsExpression', 'TSSatisfiesExpression']
  return type.startsWith('TS') && !holdsExpression.includes(type)
}

/** `if (a > b) b = a`, whichever way round. */
function isRunningExtreme({ test, consequent, alternate }, textOf) {
  const [only, ...more] = consequent.type === 'BlockStatement' ? consequent.body : [consequent]
  const set = only?.expression
  if (alternate || more.length > 0 || test.type !== 'BinaryExpression' || !/^[<>]=?$/.test(test.operator))
    return false
  if (set?.type !== 'AssignmentExpression' || set.operator !== '=') return false
  const sides = [textOf(test.left), textOf(test.right)]
  return sides.includes(textOf(set.left)) && sides.includes(textOf(set.right))
}

/** Whole numbers move by one, others by a third: a threshold that may be anywhere is none. */
function changedNumber(value) {
  return Number.isInteger(value) && Math.abs(value) < 1e6 ? String(value + 1) : String(value * 1.33)
}
