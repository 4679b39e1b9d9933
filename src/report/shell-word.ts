// A file name → one word of a command line that can be pasted into a shell.

/** Quoted where a POSIX shell would take it apart (XCU 2.2.2); names as people give them stay as they are. */
export function shellWord(name: string): string {
  return /^[\w@%+=:,./][\w@%+=:,./-]*$/.test(name) || name === '-' ? name : quoted(name)
}

function quoted(name: string): string {
  // a name that begins with a dash would be taken for an option
  const word = name.startsWith('-') ? `./${name}` : name
  return `'${word.replaceAll("'", "'\\''")}'`
}
