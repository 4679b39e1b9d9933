import { describe, expect, it, test } from 'vitest'
import { BATCH_ROWS } from '../../src/capture/transition-batch.ts'
import { bytesOf, collect, collectChunks, cutEvery, headerOf, noticeCounts, type Row } from './vcd-collect.ts'

/** Rows of a body after a header of wires a and b and a vector v [3:0] with code `#`; the same byte by byte. */
function rowsOf(body: string): Row[] {
  const text =
    headerOf('a', 'b').replace('$enddefinitions', '$var wire 4 # v [3:0] $end\n$enddefinitions') + body
  const whole = collect(text)
  expect(whole.error).toBeUndefined()
  expect(collectChunks(cutEvery(bytesOf(text), 1))).toEqual(whole)
  return whole.rows
}

/** Levels of v[3] to v[0] after the first change of the vector. */
function vectorLevels(change: string): string {
  return rowsOf(`#0\n${change}\n`)
    .map(([, , level]) => level)
    .join('')
}

describe('layout', () => {
  const expected: Row[] = [
    [0, 'a', 0],
    [0, 'b', 1],
    [7, 'a', 1],
  ]
  test.each([
    ['one token on a line', '#0\n0!\n1"\n#7\n1!\n'],
    ['CRLF', '#0\r\n0!\r\n1"\r\n#7\r\n1!\r\n'],
    ['values on the time line', '#0 0! 1"\n#7 1!\n'],
    ['all on one line', '#0 0! 1" #7 1!'],
    ['indented, with tabs and blank lines', '\n  #0\n\t0!\n    1"  \n\n\t#7\n  1!\n\n'],
    ['space between value and code', '#0\n0 !\n1\t"\n#7\n1  !\n'],
    ['no newline at the end', '#0\n0!\n1"\n#7\n1!'],
    ['$dumpvars', '#0\n$dumpvars\n0!\n1"\n$end\n#7\n1!\n'],
    ['$dumpvars never closed', '#0\n$dumpvars 0! 1"\n#7\n1!\n'],
    ['stray $end', '$end\n#0 $end\n0!\n1"\n$end\n#7\n1!\n$end'],
    ['comments', '$comment #9 0! $end\n#0\n0! $comment $ end$end $endx $end 1"\n#7 $comment\n#3\n$end\n1!\n'],
    ['$dumpall', '#0 $dumpall 0! 1" $end #7 $dumpon 1! $end\n'],
    ['time repeated', '#0\n0!\n#0\n1"\n#7\n#7\n1!\n'],
    ['leading zeros', '#0000\n0!\n1"\n#00000000000000000000000007\n1!\n'],
    ['$vcdclose', '#0 0! 1" #7 1! $vcdclose #7 $end\n'],
  ])('%s', (_, body) => {
    expect(rowsOf(body)).toEqual(expected)
  })
})

describe('values', () => {
  test.each([
    ['0', 0],
    ['1', 1],
    ['l', 0],
    ['L', 0],
    ['h', 1],
    ['H', 1],
    ['x', 2],
    ['X', 2],
    ['z', 2],
    ['Z', 2],
    ['u', 2],
    ['U', 2],
    ['w', 2],
    ['W', 2],
    ['-', 2],
    ['?', 2],
  ])('scalar %s is level %i', (value, level) => {
    expect(rowsOf(`#1\n${value}!\n#2\n`)).toEqual([[1, 'a', level]])
  })

  // Left extension: IEEE 1364-2005, table 18-1.
  test.each([
    ['b1010 #', '1010'],
    ['B1010 #', '1010'],
    ['b1 #', '0001'],
    ['b0 #', '0000'],
    ['b10 #', '0010'],
    ['bx #', '2222'],
    ['bx1 #', '2221'],
    ['bz0 #', '2220'],
    ['b1x #', '0012'],
    ['bU1 #', '2221'],
    ['bH #', '0001'],
    ['bHLZ- #', '1022'],
    ['b0b11 #', '0011'],
    ['0b1010 #', '1010'],
    ['0B1x #', '0012'],
    ['b  1 #'.replace('  ', ''), '0001'],
    ['b111  #', '0111'],
    ['b0000000000000000000000000000000000000000000000001001 #', '1001'],
    ['x#', '2222'],
    ['1#', '0001'],
  ])('vector change %j gives %s', (change, levels) => {
    expect(vectorLevels(change)).toBe(levels)
  })

  it('emits only the wires of a vector that changed', () => {
    const body =
      '#0\nb0000 #\n#1\nb0001 #\n#2\nb0001 #\n#3\nb1 #\n#4\nbx001 #\n#5\nbx001 #\n#6\nb0001 #\n#7\nb1001 #\n'
    expect(rowsOf(body).slice(4)).toEqual([
      [1, 'v[0]', 1],
      [4, 'v[3]', 2],
      [6, 'v[3]', 0],
      [7, 'v[3]', 1],
    ])
  })

  it('emits a vector whole again after it was unknown', () => {
    const after = rowsOf('#0\nb1010 #\n#1\nbx #\n#2\nb1010 #\n').slice(8)
    expect(after.map(([, name, level]) => `${name}=${level}`)).toEqual([
      'v[3]=1',
      'v[2]=0',
      'v[1]=1',
      'v[0]=0',
    ])
  })

  it('reads vectors of 32 wires, most significant first', () => {
    const text = `$timescale 1 ns $end $var wire 32 ! w [31:0] $end $enddefinitions $end\n#0\nb1${'0'.repeat(30)}1 !\n#1\nbx !\n`
    const { rows } = collect(text)
    expect(rows).toHaveLength(64)
    expect(rows.filter(([, , level]) => level === 1)).toEqual([
      [0, 'w[31]', 1],
      [0, 'w[0]', 1],
    ])
    expect(rows.slice(32).every(([, , level]) => level === 2)).toBe(true)
  })

  it('takes the last digit when a single wire gets a vector', () => {
    expect(rowsOf('#0\nb1 !\n#1\nb0 !\n#2\nbx !\n').map(([, , level]) => level)).toEqual([1, 0, 2])
  })

  it('emits repeated levels of a wire as the file states them', () => {
    expect(rowsOf('#0\n1!\n#1\n1!\n')).toHaveLength(2)
  })

  it('passes over reals and strings, and counts them', () => {
    const result = collect(`${headerOf('a')}#0\nr1.5e-3 !\nR0 "\nsIDLE !\ns "\n1!\n`)
    expect(result.rows).toEqual([[0, 'a', 1]])
    expect(noticeCounts(result)).toEqual({ VCD_REAL_IGNORED: 2, VCD_STRING_IGNORED: 2 })
  })

  it('counts levels that are neither low nor high', () => {
    const result = collect(`${headerOf('a', 'b')}#0\n$dumpoff\nx!\nx"\n$end\n#5\n$dumpon\n1!\nz"\n$end\n`)
    expect(noticeCounts(result)).toEqual({ LEVEL_UNKNOWN: 3 })
  })

  it('counts changes of codes without a declaration, and reads on', () => {
    const text = `${headerOf('a')}#0\n0!\n1?\nb101 abc\n#1\n1!\n`
    const result = collect(text)
    expect(result.rows.map(([tick]) => tick)).toEqual([0, 1])
    expect(result.notices).toMatchObject([
      { code: 'VCD_IDENTIFIER_NOT_DECLARED', count: 2, firstAtByte: text.indexOf('1?') },
    ])
  })

  it('passes over unknown sections', () => {
    const text = `${headerOf('a')}#0\n$attrbegin 0! 1! $end\n1!\n$date later $end\n`
    const result = collect(text)
    expect(result.rows).toEqual([[0, 'a', 1]])
    expect(result.notices).toMatchObject([
      { code: 'VCD_UNKNOWN_KEYWORD', count: 2, firstAtByte: text.indexOf('$attrbegin') },
    ])
  })
})

describe('port changes', () => {
  // Reduction to four states: IEEE 1364-2005, clause 18.3.
  const states = {
    D: 0,
    U: 1,
    N: 2,
    Z: 2,
    d: 0,
    u: 1,
    L: 0,
    H: 1,
    X: 2,
    T: 2,
    l: 0,
    h: 1,
    0: 0,
    1: 1,
    '?': 2,
    F: 2,
    f: 2,
  }
  const conflicts = { A: 2, a: 2, B: 2, b: 2, C: 2, c: 2 }
  test.each(Object.entries({ ...states, ...conflicts }))('state %s is level %i', (state, level) => {
    expect(rowsOf(`#1 p${state} 6 0 !\n#2\n`)).toEqual([[1, 'a', level]])
  })

  it('reads a dump of ports', () => {
    const text = `$timescale 1 ns $end $scope module card $end
      $var port 1 <0 HSYNC $end $var port [1:0] <1 RED $end $upscope $end $enddefinitions $end
      $dumpports pD 6 0 <0 pUN 66 66 <1 $end
      #0
      #10 pU 0 6 <0
      $dumpportsoff pX 6 6 <0 $end $dumpportson pL 6 0 <0 $end $dumpportsall pDD 60 00 <1 $end
      $vcdclose #25 $end\n`
    const whole = collect(text)
    expect(collectChunks(cutEvery(bytesOf(text), 1))).toEqual(whole)
    expect(whole.rows).toEqual([
      [0, 'HSYNC', 0],
      [0, 'RED[1]', 1],
      [0, 'RED[0]', 2],
      [10, 'HSYNC', 1],
      [10, 'HSYNC', 2],
      [10, 'HSYNC', 0],
      [10, 'RED[1]', 0],
      [10, 'RED[0]', 0],
    ])
    expect(whole.extent).toEqual({ firstTick: 0, lastTick: 25 })
  })
})

describe('codes', () => {
  const codes = [
    '!',
    '~',
    '0',
    '1',
    '#',
    '$',
    'b',
    'x',
    '!!',
    '~~',
    '#1',
    '10',
    'n12',
    '$dum',
    'aaaai',
    '12345678',
  ]
  const long = ['123456789', 'Top.Counter.High', 'x'.repeat(256)]
  test.each([...codes, ...long])('%s is told from all others', (code) => {
    const all = [...codes, ...long]
    const variables = all.map((one, n) => `$var wire 1 ${one} w${n} $end`).join('\n')
    const text = `$timescale 1 ns $end ${variables} $enddefinitions $end\n#4\n1${code}\nb0 ${code}\n1 ${code}\n`
    const name = `w${all.indexOf(code)}`
    const whole = collect(text)
    expect(whole.rows).toEqual([
      [4, name, 1],
      [4, name, 0],
      [4, name, 1],
    ])
    expect(collectChunks(cutEvery(bytesOf(text), 1))).toEqual(whole)
  })
})

describe('time', () => {
  it('gives values before the first time stamp its tick', () => {
    const result = collect(`${headerOf('a', 'b')}$dumpvars\n1"\nx!\n0!\n$end\n#31000\n1!\n`)
    expect(result.rows).toEqual([
      [31000, 'a', 0],
      [31000, 'b', 1],
      [31000, 'a', 1],
    ])
    expect(result.extent).toEqual({ firstTick: 31000, lastTick: 31000 })
    expect(noticeCounts(result)).toEqual({ VCD_VALUES_BEFORE_TIME: 3 })
  })

  it('gives values tick 0 when no time stamp comes at all', () => {
    const result = collect(`${headerOf('a')}1!\n`)
    expect(result.rows).toEqual([[0, 'a', 1]])
    expect(result.extent).toEqual({ firstTick: 0, lastTick: 0 })
  })

  it('keeps the fraction of a time stamp', () => {
    const result = collect(`${headerOf('a')}#0\n0!\n#3.2\n1!\n#6.0\n0!\n#12.125\n1!\n`)
    expect(result.rows.map(([tick]) => tick)).toEqual([0, 3.2, 6, 12.125])
    expect(noticeCounts(result)).toEqual({ VCD_TIME_FRACTIONAL: 3 })
  })

  it('counts time stamps without a change in the extent', () => {
    expect(collect(`${headerOf('a')}#5\n#10\n1!\n#20\n#40`).extent).toEqual({ firstTick: 5, lastTick: 40 })
  })

  it('reads time below zero', () => {
    const result = collect(`${headerOf('a')}#-20\n0!\n#-3\n1!\n#4\n0!\n`)
    expect(result.rows.map(([tick]) => tick)).toEqual([-20, -3, 4])
    expect(result.extent).toEqual({ firstTick: -20, lastTick: 4 })
  })

  test.each([9, 99, 999_999_999, 1_000_000_000, 1_234_567_891, 999_999_999_999_999, Number.MAX_SAFE_INTEGER])(
    '%i is exact',
    (time) => {
      expect(collect(`${headerOf('a')}#0\n#${time}\n1!\n#${time}\n`).rows).toEqual([[time, 'a', 1]])
    },
  )
})

describe('a capture that ends in mid-word', () => {
  const start = `${headerOf('a')}#100\n0!\n#110\n1!\n`

  test.each([
    '1',
    '#',
    '#1',
    '#109.5',
    'b',
    'b101',
    'b101 ',
    'x ',
    'r1.5',
    'r1.5 ',
    '1ab',
    '$en',
    '$dumpv',
    '$comment half',
    'pD',
    'pD 6',
    'pD 6 0 ',
    '$date x $en',
  ])('drops %j, with a notice', (rest) => {
    const result = collect(start + rest)
    expect(result.rows).toEqual([
      [100, 'a', 0],
      [110, 'a', 1],
    ])
    expect(result.extent).toEqual({ firstTick: 100, lastTick: 110 })
    expect(result.notices.filter((notice) => notice.code === 'VCD_CUT_SHORT')).toHaveLength(1)
  })

  test.each(['$end', '$dumpoff', '$comment whole $end', '#110', '#110.5', 'r1.5 !', '0!', 'b0 !'])(
    'keeps %j, which may be whole',
    (rest) => {
      const { notices, error } = collect(start + rest)
      expect(error).toBeUndefined()
      expect(notices.map((notice) => notice.code)).not.toContain('VCD_CUT_SHORT')
    },
  )
})

it('hands over batches of one size, in which ticks never fall', () => {
  const changes = Array.from({ length: BATCH_ROWS * 2 + 100 }, (_, n) => `#${n * 3}\n${n & 1}!\n`)
  const { rows } = collect(headerOf('a') + changes.join(''))
  expect(rows).toHaveLength(changes.length)
  expect(rows.every(([tick, , level], n) => tick === n * 3 && level === (n & 1))).toBe(true)
})
