// Loaded into the command by --import: tells its peak memory on descriptor 3 when it ends.

import { writeSync } from 'node:fs'

process.on('exit', () => writeSync(3, String(process.resourceUsage().maxRSS * 1024)))
