// modes: which modes do you know?

import { STANDARDS } from '../../classify/standards.ts'
import { modesReport, modesText } from '../../report/modes-report.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import { inkFor } from '../ink-for.ts'
import { print, printJson } from '../print.ts'

/** @returns exit status */
export async function modes(options: { json?: boolean }, io: Io): Promise<number> {
  const report = modesReport(STANDARDS)
  if (options.json) await printJson(io, report)
  else await print(io, modesText(report, inkFor(io)))
  return EXIT.done
}
