import { describe, expect, it, test } from 'vitest'
import { codes, readCsv } from './csv-collect.ts'

/** Rows of `tick:channel=level`, short enough to read beside the text. */
function changes(text: string, options = {}): string {
  const read = readCsv(text, options)
  expect(read.error).toBeUndefined()
  return read.rows.map(([tick, channel, level]) => `${tick}:${channel}=${level}`).join(' ')
}

function names(text: string): string[] | undefined {
  return readCsv(text).header?.channels.map((channel) => channel.name)
}

// The same three changes of two channels, as different instruments would write them.
const SAME = '0:0=0 0:1=1 2500:0=1 7500:1=0'
/** Half a microsecond per row; the first rows hold settings as well. */
function besideSettings(): string {
  const settings = ['Record Length,3', 'Horizontal Units,s']
  return Array.from({ length: 16 }, (_, n) => {
    const time = (n * 0.5).toFixed(2)
    return `${settings[n] ?? ','},,00.00000${time.replace('.', '')},${n < 5 ? -0.1 : 5.1},${n < 15 ? 5 : 0.2}\n`
  }).join('')
}

const dialects: readonly { name: string; text: string; tickSeconds: number; channels?: string }[] = [
  { name: 'whole nanoseconds', text: 'Time (ns),A,B\n0,0,1\n2500,1,1\n7500,1,0\n', tickSeconds: 1e-9 },
  {
    name: 'seconds with decimals',
    text: 'Time [s],A,B\n0,0,1\n0.0000025,1,1\n0.0000075,1,0\n',
    tickSeconds: 1e-9,
  },
  { name: 'tabs', text: 'Time [s]\tA\tB\n0.0\t0\t1\n0.0000025\t1\t1\n0.0000075\t1\t0\n', tickSeconds: 1e-9 },
  { name: 'bars', text: 'time/us|A|B\n0.0|0|1\n2.5|1|1\n7.5|1|0\n', tickSeconds: 1e-9 },
  {
    name: 'semicolons, decimal comma',
    text: 'Time [us];A;B\n0,0;0;1\n2,5;1;1\n7,5;1;0\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'tabs, decimal comma',
    text: 'Time [us]\tA\tB\n0,0\t0\t1\n2,5\t1\t1\n7,5\t1\t0\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'quoted decimal comma',
    text: '"Time [us]","A","B"\n"0,0","0","1"\n"2,5","1","1"\n"7,5","1","0"\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'decimal comma between commas',
    text: 'Time [us],A,B\n0,000,0,1\n2,500,1,1\n7,500,1,0\n',
    tickSeconds: 1e-9,
  },
  { name: 'runs of spaces', text: 'time_ns  A B\n0     0 1\n2500  1 1\n7500  1 0\n', tickSeconds: 1e-9 },
  {
    name: 'space after the comma',
    text: 'Time[s], A, B\n0.000000000, 0, 1\n0.000002500, 1, 1\n0.000007500, 1, 0\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'CRLF and a byte order mark',
    text: '\u00ef\u00bb\u00bfTime [ns],A,B\r\n0,0,1\r\n2500,1,1\r\n7500,1,0\r\n',
    tickSeconds: 1e-9,
  },
  { name: 'CR alone', text: 'Time [ns],A,B\r0,0,1\r2500,1,1\r7500,1,0\r', tickSeconds: 1e-9 },
  {
    name: 'a delimiter after the last cell',
    text: 'Time [ns],A,B,\n0,0,1,\n2500,1,1,\n7500,1,0,\n',
    tickSeconds: 1e-9,
  },
  { name: 'no newline at the end', text: 'Time [ns],A,B\n0,0,1\n2500,1,1\n7500,1,0', tickSeconds: 1e-9 },
  { name: 'blank lines', text: '\n\nTime [ns],A,B\n\n0,0,1\n\n2500,1,1\n \n7500,1,0\n\n', tickSeconds: 1e-9 },
  {
    name: 'comments of four kinds',
    text: '# one\n; two: 2,3,4\n// three\nMETA four\nTime [ns],A,B\n0,0,1\n# five\n2500,1,1\n7500,1,0\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'a header that opens like a comment',
    text: '# Time [ns],A,B\n0,0,1\n2500,1,1\n7500,1,0\n',
    tickSeconds: 1e-9,
  },
  { name: 'time last', text: 'A,B,Time [ns]\n0,1,0\n1,1,2500\n1,0,7500\n', tickSeconds: 1e-9 },
  { name: 'time in the middle', text: 'A,Time [ns],B\n0,0,1\n1,2500,1\n1,7500,0\n', tickSeconds: 1e-9 },
  { name: 'unit glued to each time', text: 'Time,A,B\n0ns,0,1\n2.5us,1,1\n7.5us,1,0\n', tickSeconds: 1e-9 },
  {
    name: 'unit after a space, digit groups',
    text: 'Times;A;B\r\n0 ns;0;1\r\n0.002 500 ms;1;1\r\n7.500 us;1;0\r\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'units row',
    text: 'Time,A,B\n(us),(V),(V)\n\n0.0,0.0,5.0\n2.5,5.0,5.0\n7.5,5.0,0.0\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'units row in words',
    text: 'x-axis,A,B\nsecond,Volt,Volt\n+0.0E+00,+31.5E-03,+5.0E+00\n+2.5E-06,+4.9E+00,+5.0E+00\n+7.5E-06,+4.9E+00,.1\n',
    tickSeconds: 1e-9,
  },
  { name: 'exponents', text: 'Time [s],A,B\n0e0,0,1\n2.5e-6,1,1\n75E-7,1,0\n', tickSeconds: 1e-9 },
  {
    name: 'words for levels',
    text: 'Time [ns],A,B\n0,low,HIGH\n2500,true,on\n7500,H,L\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'levels as decimal numbers',
    text: 'Time [ns],A,B\n0,0.0,1.0\n2500,1.0,1.0\n7500,1.0,0.0\n',
    tickSeconds: 1e-9,
  },
  { name: 'empty cells mean unchanged', text: 'Time [ns],A,B\n0,0,1\n2500,1,\n7500,,0\n', tickSeconds: 1e-9 },
  {
    name: 'a sample number beside the time',
    text: 'Sample,Time [ns],A,B\n0,0,0,1\n1,2500,1,1\n2,7500,1,0\n',
    tickSeconds: 1e-9,
  },
  {
    name: 'settings above, with blank lines',
    text: 'Model,X1\nFirmware,1.10\n\nSample Interval,2.5e-6,\nLabel,,\nTime [ns],A,B\n0,0,1\n2500,1,1\n7500,1,0\n',
    tickSeconds: 1e-9,
  },
]

test.each(dialects)('$name', ({ text, tickSeconds, channels = 'A B' }) => {
  expect(changes(text)).toBe(SAME)
  const read = readCsv(text)
  expect(read.header?.channels.map((channel) => channel.name).join(' ')).toBe(channels)
  expect(read.header?.secondsPerTick).toBe(tickSeconds)
  expect(read.extent).toMatchObject({ firstTick: 0, lastTick: 7500 })
})

test('settings beside the table, and voltages at even steps: edges lie between rows', () => {
  // half way between two rows, in tenths of a nanosecond
  expect(changes(besideSettings())).toBe('0:0=0 0:1=1 22500:0=1 72500:1=0')
  const read = readCsv(besideSettings())
  expect(read.header?.channels.map((channel) => channel.name)).toEqual(['D0', 'D1'])
  expect(read.header?.secondsPerTick).toBe(1e-10)
  expect(read.extent).toMatchObject({ firstTick: 0, lastTick: 75_000 })
})

describe('time', () => {
  it('may be negative, and counts exactly where a float would not', () => {
    const text = 'Time [s],A\n-0.209715100,0\n0.000000003,1\n4503.599627371,0\n'
    expect(changes(text)).toBe('-209715100:0=0 3:0=1 4503599627371:0=0')
  })

  it('is in seconds, with a notice, when it has decimals and nothing states a unit', () => {
    const read = readCsv('Time,A\n0.5,0\n0.75,1\n')
    expect(read.header).toMatchObject({ secondsPerTick: 1e-9, timebaseFrom: 'unit-assumed' })
    expect(codes(read)).toContain('CSV_TIME_UNIT_ASSUMED')
  })

  it('has no meaning when it is whole and nothing states a unit or rate', () => {
    expect(readCsv('Time,A\n0,0\n41,1\n83,0\n').header).toMatchObject({
      secondsPerTick: null,
      timebaseFrom: 'none',
    })
  })

  const rates = [
    { name: 'truncated steps', rate: '24 MHz', times: [41, 246, 1353, 2993], seconds: 1e-9 },
    { name: 'rounded times', rate: '24 MHz', times: [42, 250, 1375, 3042], seconds: 1e-9 },
    { name: 'edges two samples apart', rate: '9.52381 MHz', times: [104, 312, 520, 1144], seconds: 1e-9 },
    { name: 'microseconds', rate: '500 kHz', times: [2, 4, 10, 16], seconds: 1e-6 },
    { name: 'sample numbers', rate: '24 MHz', times: [1, 2, 5, 9], seconds: null },
  ]
  test.each(rates)('a stated rate tells the unit of whole times: $name', ({ rate, times, seconds }) => {
    const rows = times.map((time, n) => `${time},${n & 1}\n`).join('')
    const header = readCsv(`; Samplerate: ${rate}\nTime,A\n${rows}`).header
    expect(header?.secondsPerTick).toBe(seconds)
  })

  it('keeps no more digits than a float64 printed and the ticks can hold', () => {
    const read = readCsv('Time [s],A\n-0.0020832000000000003,0\n0.0020708000000000002,1\n')
    expect(read.rows.map(([tick]) => tick)).toEqual([-2083200, 2070800])
    expect(codes(read)).toContain('CSV_TIME_ROUNDED')
  })

  it('rounds later digits half away from zero', () => {
    const filler = Array.from(
      { length: 9000 },
      (_, n) => `0.00000${String(n).padStart(5, '0')},${n & 1}\n`,
    ).join('')
    const read = readCsv(`Time [s],A\n${filler}0.00100000005,0\n0.001000000149,1\n`)
    expect(read.extent?.lastTick).toBe(10_000_001)
    expect(read.rows.at(-2)?.[0]).toBe(10_000_001)
    expect(read.notices.find(({ code }) => code === 'CSV_TIME_ROUNDED')?.count).toBe(2)
  })

  it('that repeats is kept in order and counted', () => {
    const read = readCsv('Time [ns],A\n0,0\n41,1\n41,0\n41,1\n')
    expect(read.rows.map((row) => row.join())).toEqual(['0,0,0', '41,0,1', '41,0,0', '41,0,1'])
    expect(read.notices.find(({ code }) => code === 'CSV_TIME_REPEATED')?.count).toBe(2)
  })

  it('that stands still gives way to the row number when the rate is known', () => {
    const read = readCsv('META samplerate: 20000000\nTime,A\n0,0\n0,0\n0,1\n')
    expect(read.header).toMatchObject({
      secondsPerTick: 5e-8,
      timebaseFrom: 'sample-rate',
      sampleIntervalTicks: 1,
    })
    expect(read.rows).toEqual([
      [0, 0, 0],
      [2, 0, 1],
    ])
    expect(codes(read)).toContain('CSV_TIME_FROM_ROW_NUMBER')
  })

  it('is found by its even steps when its header names something else', () => {
    const read = readCsv('Frequency,A\n-2.56,0\n-1.28,1\n0.00,0\n1.28,1\n')
    expect(read.rows.map(([tick]) => tick)).toEqual([-2560000000, -1280000000, 0, 1280000000])
  })

  it('is found in a table without header', () => {
    const read = readCsv('0.000000, 0, 1\n0.000016, 1, 1\n0.000094, 0, 1\n')
    expect(read.header?.channels.map(({ name }) => name)).toEqual(['D0', 'D1'])
    expect(read.extent).toEqual({ firstTick: 0, lastTick: 94000 })
    expect(codes(read)).toEqual(['CSV_NO_HEADER', 'CSV_TIME_UNIT_ASSUMED'])
  })
})

describe('rows of samples', () => {
  test.each([
    ['; Samplerate: 9.52381 MHz', 9.52381e6],
    ['META samplerate: 23999808', 23999808],
    ['Sample Interval,2e-08', 5e7],
    ['Sample Rate (MHz),24', 24e6],
    ['# Sampling frequency = 24 MS/s', 24e6],
    ['"Sample rate","16 MSa/s"', 16e6],
  ])('%s states the rate', (setting, hertz) => {
    const { header } = readCsv(`${setting}\nA,B\n0,1\n0,1\n1,1\n`)
    expect(header?.statedRateHz).toBeCloseTo(hertz, 3)
    expect(header?.secondsPerTick).toBeCloseTo(1 / hertz, 18)
    expect(header).toMatchObject({ timebaseFrom: 'sample-rate', sampleIntervalTicks: 1 })
  })

  it('count from 0 without a time column', () => {
    const read = readCsv('A,B\n0,1\n0,1\n1,1\n1,0\n')
    expect(read.rows).toEqual([
      [0, 0, 0],
      [0, 1, 1],
      [2, 0, 1],
      [3, 1, 0],
    ])
    expect(read.header).toMatchObject({ secondsPerTick: null, timebaseFrom: 'none', sampleIntervalTicks: 1 })
    expect(read.extent).toEqual({ firstTick: 0, lastTick: 3 })
  })

  it('take the rate from the option', () => {
    expect(readCsv('A,B\n0,1\n0,1\n', { sampleRateHz: 2e7 }).header).toMatchObject({
      secondsPerTick: 5e-8,
      timebaseFrom: 'option',
    })
  })

  it('prove the sample interval when they have times and repeat levels', () => {
    const perSample =
      'Time,0,1\r\n-0.000000250,1,1\r\n0.000000000,1,1\r\n0.000000250,0,1\r\n0.000000500,0,1\r\n'
    expect(readCsv(perSample).header?.sampleIntervalTicks).toBe(250)
    const changesOnly = 'Time [ns],A\n0,0\n250,1\n500,0\n750,1\n'
    expect(readCsv(changesOnly).header?.sampleIntervalTicks).toBeNull()
  })

  it('may be numbered', () => {
    const read = readCsv('Sample,A\n0,0\n10,1\n30,0\n', { sampleRateHz: 1e7 })
    expect(read.rows).toEqual([
      [0, 0, 0],
      [10, 0, 1],
      [30, 0, 0],
    ])
    expect(read.header?.secondsPerTick).toBeCloseTo(1e-7, 15)
  })

  it('may have one channel, or channels named by numbers or by words for levels', () => {
    expect(names('HSYNC\n0\n1\n1\n')).toEqual(['HSYNC'])
    expect(names('0,1,2,3\n0,1,0,1\n1,1,0,0\n')).toEqual(['0', '1', '2', '3'])
    expect(names('H,L\n0,1\n1,1\n')).toEqual(['H', 'L'])
    expect(names('DE,VS\n0,1\n1,1\n')).toEqual(['DE', 'VS'])
    expect(names('S,H,V\n0,1,0\n1,1,0\n')).toEqual(['S', 'H', 'V'])
  })
})

describe('options', () => {
  const text = 'Time [s],A\n0,0\n41,1\n'
  it('replace the unit of the header', () => {
    expect(readCsv(text, { timeUnit: 'ns' }).header).toMatchObject({
      secondsPerTick: 1e-9,
      timebaseFrom: 'option',
    })
    expect(readCsv(text).header).toMatchObject({ secondsPerTick: 1, timebaseFrom: 'unit-in-header' })
  })
  it('make the time column count samples of the given rate', () => {
    const { header } = readCsv(text, { timeUnit: 'samples', sampleRateHz: 1e6 })
    expect(header).toMatchObject({ secondsPerTick: 1e-6, timebaseFrom: 'option', statedRateHz: 1e6 })
  })
  it('leave a time column its unit when only the rate is given', () => {
    expect(readCsv(text, { sampleRateHz: 1e6 }).header).toMatchObject({
      secondsPerTick: 1,
      statedRateHz: 1e6,
    })
  })
})

describe('buses', () => {
  const levels = (text: string): string =>
    readCsv(text)
      .rows.map(([tick, channel, level]) => `${tick}:${channel}=${level}`)
      .join(' ')

  it('give one channel per bit, most significant first', () => {
    const read = readCsv('"Bus[3:0]","Time"\r\n5,0 ms\r\nA,1.5 ms\r\n')
    expect(read.header?.channels.map(({ name }) => name)).toEqual(['Bus[3]', 'Bus[2]', 'Bus[1]', 'Bus[0]'])
    expect(read.header?.channels[0]?.bus).toEqual({ name: 'Bus', bit: 3, widthBits: 4 })
    expect(read.rows).toEqual([
      [0, 0, 0],
      [0, 1, 1],
      [0, 2, 0],
      [0, 3, 1],
      [1500000, 0, 1],
      [1500000, 1, 0],
      [1500000, 2, 1],
      [1500000, 3, 0],
    ])
  })

  it('keep the order of a header that counts upward', () => {
    expect(names('Time [ns],b[0:1]\n0,01\n5,10\n')).toEqual(['b[0]', 'b[1]'])
  })

  const spellings = ['0x2', '2h', '2 h', '$2', "2'h2", 'h2', "2'b10", '10', '2']
  test.each(spellings)('read %s as binary 10', (cell) => {
    expect(levels(`Time [ns],b[1:0]\n0,${cell}\n5,${cell}\n`)).toBe('0:0=1 0:1=0')
  })

  it('have unknown bits for x, and read short numbers as led by zeros', () => {
    expect(levels('Time [ns],b[7:0]\n0,0x1x\n5,0x1\n')).toBe(
      '0:0=0 0:1=0 0:2=0 0:3=1 5:3=0 5:4=0 5:5=0 5:6=0 5:7=1',
    )
  })
})

describe('unknown levels', () => {
  it('are no level at first, and become LEVEL_UNKNOWN after one', () => {
    const read = readCsv('Time [ns],A,B\n0,X,0\n5,1,z\n9,U,?\n')
    expect(read.rows).toEqual([
      [0, 1, 0],
      [5, 0, 1],
      [5, 1, 2],
      [9, 0, 2],
    ])
    expect(read.notices.find(({ code }) => code === 'LEVEL_UNKNOWN')?.count).toBe(3)
  })
})

describe('voltages', () => {
  it('of no clear levels are high from 2.0 V, low to 0.8 V, and change where they crossed 1.4 V', () => {
    const volts = [0.1, 1.9, 2.0, 1.0, 0.8, 1.9, 5, 0]
    const read = readCsv(`Time [us],CH1 (V)\n${volts.map((v, n) => `${n},${v}\n`).join('')}`)
    expect(read.rows).toEqual([
      [0, 0, 0],
      [722, 0, 1],
      [2600, 0, 0],
      [4545, 0, 1],
      [6720, 0, 0],
    ])
    expect(read.header?.channels[0]?.name).toBe('CH1')
    expect(read.notices.find(({ code }) => code === 'CSV_ANALOG_THRESHOLD')?.message).toContain('"CH1"')
  })

  it('start on the side of 1.4 V that they are on', () => {
    expect(readCsv('Time [us],A\n0,1.5\n1,5.0\n2,0.5\n').rows[0]).toEqual([0, 0, 1])
    expect(readCsv('Time [us],A\n0,1.3\n1,0.5\n2,5.0\n').rows[0]).toEqual([0, 0, 0])
  })

  it('of two levels below 2 V are parted in the middle', () => {
    const read = readCsv('Time [us],A\n0,0.05\n1,0.65\n2,0.70\n3,0.02\n4,0.06\n')
    expect(read.rows).toEqual([
      [0, 0, 0],
      [542, 0, 1],
      [2478, 0, 0],
    ])
  })

  it('in millivolts use the same limits', () => {
    const read = readCsv('Time [us],A (mV)\n0,100\n1,1900.5\n2,2000\n3,800\n')
    expect(read.rows).toEqual([
      [0, 0, 0],
      [722, 0, 1],
      [2500, 0, 0],
    ])
  })

  it('at uneven steps are changes, which hold from their own row on', () => {
    const read = readCsv('Time [us],A (V)\n0,0.1\n1,5\n5,0.2\n7,4.9\n20,0.1\n')
    expect(read.rows.map(([tick]) => tick)).toEqual([0, 1, 5, 7, 20])
  })
})

describe('bounds', () => {
  it('leaves channels beyond the most out, with a notice', () => {
    const header = `Time [ns],${Array.from({ length: 600 }, (_, n) => `c${n}`).join()}\n`
    const read = readCsv(`${header}0,${'0,'.repeat(599)}1\n5,${'1,'.repeat(599)}1\n`)
    expect(read.header?.channels).toHaveLength(512)
    expect(read.notices.find(({ code }) => code === 'CHANNELS_IGNORED')?.count).toBe(88)
  })
})
