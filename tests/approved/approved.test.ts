// Guards against change that nobody meant: what is answered about small captures is compared with answers that were looked
// through once (answers.txt). That they are true is not shown here; the other tests measure against what was drawn.
//
// Where a change is meant: `npm run approve` prints the answers anew, and the difference is what there is to review.

import { readFileSync, writeFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { answersTo, type Answers } from './answers.ts'
import { APPROVED_CAPTURES } from './captures.ts'

const FILE = new URL('answers.txt', import.meta.url)
/** Numbers may differ by rounding on another machine, not by more. Of a value, as a share of its uncertainty. */
const VALUE_SLACK = 0.01
const NUMBER_SLACK = 1e-4
const isPrinted = process.env['RASTERTAP_APPROVE'] !== undefined

const NUMBER = /-?\d+(?:\.\d+)?(?:e[-+]?\d+)?/g

function readApproved(): Map<string, Answers> {
  const approved = new Map<string, Answers>()
  let answers: Answers = new Map()
  for (const textLine of readFileSync(FILE, 'utf8').split('\n')) {
    const colon = textLine.indexOf(': ')
    if (textLine.startsWith('== ')) approved.set(textLine.slice(3), (answers = new Map()))
    else if (colon >= 0) answers.set(textLine.slice(0, colon), textLine.slice(colon + 2))
  }
  return approved
}

function isAlike(a: string, b: string): boolean {
  const [value, uncertainty] = a.split(' ± ').map(Number)
  const [other, otherUncertainty] = b.split(' ± ').map(Number)
  if (uncertainty !== undefined && otherUncertainty !== undefined) {
    const slack = VALUE_SLACK * uncertainty + 1e-11 * Math.abs(value!)
    return Math.abs(value! - other!) <= slack && isNear(uncertainty, otherUncertainty)
  }
  if (a.replace(NUMBER, '#') !== b.replace(NUMBER, '#')) return false
  const numbers = (text: string): number[] => (text.match(NUMBER) ?? []).map(Number)
  const others = numbers(b)
  return numbers(a).every((one, index) => isNear(one, others[index]!))
}

function isNear(a: number, b: number): boolean {
  // counts are whole, and a phase that is nothing but rounding is none
  if (Number.isInteger(a) && Number.isInteger(b)) return a === b
  return Math.abs(a - b) <= NUMBER_SLACK * Math.max(Math.abs(a), Math.abs(b)) + 1e-14
}

function differences(answers: Answers, approved: Answers): string[] {
  return [...new Set([...approved.keys(), ...answers.keys()])].flatMap((path) => {
    const [is, was] = [answers.get(path), approved.get(path)]
    return is !== undefined && was !== undefined && isAlike(is, was) ? [] : [`${path}: ${was} -> ${is}`]
  })
}

if (isPrinted) {
  test('answers are printed anew', { timeout: 120_000 }, () => {
    const text = Object.entries(APPROVED_CAPTURES).map(([name, capture]) =>
      [`== ${name}`, ...[...answersTo(capture)].map(([path, value]) => `${path}: ${value}`), ''].join('\n'),
    )
    writeFileSync(FILE, text.join('\n'))
  })
} else {
  const approved = readApproved()

  test.each(Object.keys(APPROVED_CAPTURES))('%s', (name) => {
    expect(differences(answersTo(APPROVED_CAPTURES[name]!), approved.get(name) ?? new Map())).toEqual([])
  })

  test('none is approved that is not looked at', () => {
    expect([...approved.keys()]).toEqual(Object.keys(APPROVED_CAPTURES))
  })
}
