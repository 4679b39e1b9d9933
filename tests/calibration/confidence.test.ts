// Whether a confidence means what it says: over captures as chance has them, answers of 0.9 or more are right at least 98
// times in 100. `npm run calibrate:confidence` prints the whole table for a thousand captures; the suite runs a few.

import { expect, it } from 'vitest'

import { CaptureError } from '../../src/errors.ts'
import { measureBytes } from '../support/measured-card.ts'
import { captureOfPopulation, type PopulationCapture } from './population.ts'
import { answersOf, reliabilityText, shareRight, type JudgedAnswer } from './reliability.ts'

const captures = Number(process.env.CAPTURES ?? 50)
const seed = Number(process.env.SEED ?? 20_000)
const isVerbose = process.env.VERBOSE === '1'
const prints = process.env.CAPTURES !== undefined

/** One row: what was captured, and what was said. */
function told(capture: PopulationCapture, said: string): string {
  const { origin, timing, wires, picture, frames, sampleRateHz } = capture
  const how = `${wires}, ${picture}, ${frames.toFixed(2)} frames, ${sampleRateHz / 1e6} MS/s`
  return `${capture.seed}: ${origin}, ${timing.name} (${capture.id}), ${how}: ${said}`
}

it('is right as often as it says', { timeout: 3_600_000 }, () => {
  const named: JudgedAnswer[] = []
  const families: JudgedAnswer[] = []
  const none: JudgedAnswer[] = []
  const refused: string[] = []
  const wrong: string[] = []
  for (let number = 0; number < captures; number++) {
    const capture = captureOfPopulation(seed + number)
    try {
      const { classification } = measureBytes(capture.bytes).main
      const answers = answersOf(classification, capture.id)
      if (answers.named) named.push(answers.named)
      if (answers.family) families.push(answers.family)
      if (answers.none) none.push(answers.none)
      const { family, familyConfidence, noneConfidence } = classification
      const names = family.map(({ id, confidence }) => `${id} ${confidence.toFixed(3)}`).join(' or ')
      const said =
        names === '' ? `none ${noneConfidence.toFixed(3)}` : `${names} (${familyConfidence.toFixed(3)})`
      const isSureAndWrong = Object.values(answers).some(
        (answer) => answer !== null && answer.confidence >= 0.9 && !answer.right,
      )
      if (isSureAndWrong) wrong.push(told(capture, said))
      if (isVerbose) console.log(told(capture, said))
    } catch (error) {
      if (!(error instanceof CaptureError)) throw error
      refused.push(told(capture, `${error.code} ${error.message}`))
    }
  }
  if (prints) {
    console.log(`${captures} captures from seed ${seed}, ${refused.length} refused\n`)
    console.log(reliabilityText('One standard named', named), '\n')
    console.log(reliabilityText('One of those named that cannot be told apart', families), '\n')
    console.log(reliabilityText('None of the known standards', none), '\n')
    if (wrong.length > 0) console.log(`Sure and wrong:\n${wrong.join('\n')}\n`)
    if (refused.length > 0) console.log(`Refused:\n${refused.join('\n')}\n`)
  }
  const all = [...named, ...none]
  expect(all.length + refused.length).toBeGreaterThan(0.6 * captures)
  expect(shareRight(families, 0.9).share, wrong.join('\n')).toBeGreaterThanOrEqual(0.98)
  expect(shareRight(named, 0.9).share, wrong.join('\n')).toBeGreaterThanOrEqual(0.98)
})
