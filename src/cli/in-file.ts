// What a measured capture cannot give is told with the capture's name.

import { CaptureError } from '../errors.ts'

/** Runs `work`; an error of the library that leaves it names the file. */
export function inFile<T>(file: string, work: () => T): T {
  try {
    return work()
  } catch (error) {
    if (error instanceof CaptureError) error.at.file ??= file
    throw error
  }
}
