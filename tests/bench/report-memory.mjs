// Loaded into the command by --import: tells its peak memory on descriptor 3 when it ends.

import { writeSync } from 'node:fs'
import { isMainThread } from 'node:worker_threads'

// its threads load this too, and share the memory that is told
if (isMainThread) process.on('exit', () => writeSync(3, String(process.resourceUsage().maxRSS * 1024)))
