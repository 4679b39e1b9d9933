// The compiled tool, for tests that run it in processes or threads of its own.

import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

const ROOT: string = fileURLToPath(new URL('../..', import.meta.url))
export const BIN: string = join(ROOT, 'bin/rastertap.js')

/** Whether every source has a compiled file that is not older. */
function isBuilt(): boolean {
  const sources = readdirSync(join(ROOT, 'src'), { recursive: true, encoding: 'utf8' })
  return sources
    .filter((path) => path.endsWith('.ts'))
    .every((path) => {
      const built = join(ROOT, 'dist', path.replace(/\.ts$/, '.js'))
      return existsSync(built) && statSync(built).mtimeMs >= statSync(join(ROOT, 'src', path)).mtimeMs
    })
}

/** Compiles what is not compiled yet. */
export function buildTool(): void {
  if (isBuilt()) return
  // types are another check's business: what was written is what counts
  const { stdout } = spawnSync('npm', ['run', 'build'], { cwd: ROOT, encoding: 'utf8' })
  if (!isBuilt()) throw new Error(`the build failed:\n${stdout}`)
}
