// For long runs: whatever ends them, what they started and made goes with them.

import { constants } from 'node:os'

/** From here on a signal ends the process by its `exit` event, with the status that shells give such an end. */
export function endWithSignals() {
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'])
    process.on(signal, () => process.exit(128 + constants.signals[signal]))
}
