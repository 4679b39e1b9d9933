// Wrong flags. Lives here and not in the library, which has no flags.

/** The command line cannot be carried out as given. */
export class UsageError extends Error {
  readonly hint: string | undefined
  constructor(message: string, hint?: string) {
    super(message)
    this.name = 'UsageError'
    this.hint = hint
  }
}
