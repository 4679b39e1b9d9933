// The program and its tests as JavaScript in a temporary folder, with the tests' own runner in place of vitest.

import { spawnSync } from 'node:child_process'
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'

export const ROOT = fileURLToPath(new URL('../..', import.meta.url))

/** @returns {string} the folder; it is gone when the process ends */
export function build() {
  const folder = temporaryFolder()
  writeFileSync(
    join(folder, 'tsconfig.json'),
    JSON.stringify({
      extends: join(ROOT, 'tsconfig.json'),
      compilerOptions: {
        noEmit: false,
        declaration: false,
        isolatedDeclarations: false,
        noCheck: true,
        sourceMap: true,
        types: [],
        outDir: folder,
        rootDir: ROOT,
      },
      include: [join(ROOT, 'src'), join(ROOT, 'tests')],
    }),
  )
  const { status, stdout } = spawnSync(
    process.execPath,
    [join(ROOT, 'node_modules/typescript/bin/tsc'), '-p', folder],
    { encoding: 'utf8' },
  )
  if (status !== 0) throw new Error(`the program does not compile:\n${stdout}`)
  for (const part of ['src', 'tests'])
    cpSync(join(ROOT, part), join(folder, part), { recursive: true, filter: (path) => !path.endsWith('.ts') })
  for (const name of ['fixtures', 'node_modules', 'package.json', 'README.md', 'DEVELOPERS.md'])
    symlinkSync(join(ROOT, name), join(folder, name))
  for (const file of filesIn(folder, 'tests', '.js')) {
    const text = readFileSync(join(folder, file), 'utf8')
    const depth = file.split('/').length - 2
    const runner = `${'../'.repeat(depth) || './'}mutation/test-api.mjs`
    writeFileSync(join(folder, file), text.replace(/from 'vitest'/, `from '${runner}'`))
  }
  return folder
}

/** @returns {string} another folder like it */
export function copyOf(folder) {
  const copy = temporaryFolder()
  cpSync(folder, copy, { recursive: true, verbatimSymlinks: true })
  return copy
}

function temporaryFolder() {
  const folder = mkdtempSync(join(tmpdir(), 'rastertap-mutate-'))
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }))
  return folder
}

/** @returns {string[]} names from the folder on, sorted */
export function filesIn(folder, part, ending) {
  return readdirSync(join(folder, part), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith(ending))
    .map((entry) => join(part, relative(join(folder, part), entry.parentPath), entry.name))
    .sort()
}
