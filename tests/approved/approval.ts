// Answers that were looked through once, in a text file: read, compared, or printed anew.

import { readFileSync, writeFileSync } from 'node:fs'
import { expect, test } from 'vitest'

/** Path → number or text; a value with an uncertainty is the text `value ± uncertainty`. */
export type Answers = Map<string, string>

/** Numbers may differ by rounding on another machine, not by more. Of a value, as a share of its uncertainty. */
const VALUE_SLACK = 0.01
const NUMBER_SLACK = 1e-4

const NUMBER = /-?\d+(?:\.\d+)?(?:e[-+]?\d+)?/g

function readApproved(file: URL): Map<string, Answers> {
  const approved = new Map<string, Answers>()
  let answers: Answers = new Map()
  for (const textLine of readFileSync(file, 'utf8').split('\n')) {
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

/** One test for each case; or, where answers are to be printed, one that does that. */
export function testApproved<T>(
  file: URL,
  cases: Readonly<Record<string, T>>,
  answersTo: (one: T) => Answers,
): void {
  if (process.env['RASTERTAP_APPROVE'] !== undefined) {
    test('answers are printed anew', { timeout: 120_000 }, () => {
      const text = Object.entries(cases).map(([name, one]) =>
        [`== ${name}`, ...[...answersTo(one)].map(([path, value]) => `${path}: ${value}`), ''].join('\n'),
      )
      writeFileSync(file, text.join('\n'))
    })
    return
  }
  const approved = readApproved(file)

  test.each(Object.keys(cases))('%s', (name) => {
    expect(differences(answersTo(cases[name]!), approved.get(name) ?? new Map<string, string>())).toEqual([])
  })

  test('none is approved that is not looked at', () => {
    expect([...approved.keys()]).toEqual(Object.keys(cases))
  })
}
