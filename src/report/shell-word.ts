// A file name → one word of a command line that can be pasted into a shell.

/** Quoted where a POSIX shell would take it apart (XCU 2.2.2); names as people give them stay as they are. */
export function shellWord(name: string): string {
  return /^[\w@%+=:,./][\w@%+=:,./-]*$/.test(name) || name === '-' ? name : quoted(name)
}

/** Any word of a command line, options too: quoted where a shell would take it apart. */
export function commandWord(word: string): string {
  return /^[\w@%+=:,./-]+$/.test(word) ? word : singleQuoted(word)
}

function quoted(name: string): string {
  // a name that begins with a dash would be taken for an option
  return singleQuoted(name.startsWith('-') ? `./${name}` : name)
}

function singleQuoted(word: string): string {
  return `'${word.replaceAll("'", "'\\''")}'`
}
