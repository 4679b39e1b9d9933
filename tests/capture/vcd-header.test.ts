import { describe, expect, it, test } from 'vitest'
import { MAX_CHANNELS } from '../../src/capture/capture-header.ts'
import { collect, noticeCounts } from './vcd-collect.ts'

/** Channels of a header with these declarations, as `name` or `name = alias, alias`. */
function channelsOf(declarations: string): string[] {
  const { header, error } = collect(`$timescale 1 ns $end\n${declarations}\n$enddefinitions $end\n#0\n`)
  expect(error).toBeUndefined()
  return header!.channels.map(({ name, aliases }) =>
    aliases.length === 0 ? name : `${name} = ${aliases.join(', ')}`,
  )
}

describe('time scale', () => {
  // Numbers and units: IEEE 1364-2005, clause 18.
  test.each([
    ['$timescale 1 ns $end', 1e-9],
    ['$timescale 10ns $end', 1e-8],
    ['$timescale\n\t100 us\n$end', 1e-4],
    ['$timescale\n1\n\tps\n$end', 1e-12],
    ['$timescale 1fs $end', 1e-15],
    ['$timescale 100 s $end', 100],
    ['$timescale   10   ms   $end', 1e-2],
  ])('%j is read without a notice', (text, secondsPerTick) => {
    const { header, notices } = collect(`${text} $var wire 1 ! a $end $enddefinitions $end #0 0!\n`)
    expect(header).toMatchObject({ secondsPerTick, timebaseFrom: 'timescale' })
    expect(notices).toEqual([])
  })

  test.each([
    ['244 ns', 244e-9],
    ['0.001 fs', 1e-18],
    ['41.667ns', 41.667e-9],
    ['ns', 1e-9],
    ['1 NS', 1e-9],
    ['1 \xc2\xb5s', 1e-6],
  ])('%j is taken at its word, with a notice', (text, secondsPerTick) => {
    const { header, notices } = collect(
      `$timescale ${text} $end $var wire 1 ! a $end $enddefinitions $end #0 0!\n`,
    )
    expect(header).toMatchObject({ secondsPerTick })
    expect(notices).toMatchObject([{ code: 'VCD_TIMESCALE_NOT_STANDARD', count: 1, firstAtByte: 0 }])
  })

  test.each(['', '$timescale $end'])('none (%j) leaves the tick unknown, with a notice', (text) => {
    const { header, notices } = collect(`${text} $var wire 1 ! a $end $enddefinitions $end #0 0!\n`)
    expect(header).toMatchObject({ secondsPerTick: null, timebaseFrom: 'none' })
    expect(notices).toMatchObject([{ code: 'VCD_NO_TIMESCALE', count: 1 }])
  })
})

describe('stated sample rate', () => {
  test.each([
    ['$comment\n  Acquisition with 3/3 channels at 9.545454 MHz\n$end', 9_545_454],
    ['$comment 24MHz $end', 24_000_000],
    ['$comment sampled at 500 kHz, 8 wires $end', 500_000],
    ['$comment 1 GHz $end', 1e9],
    ['$comment 50 Hz $end', 50],
    ['META samplerate: 9545454\n$comment at 9.5 MHz $end', 9_545_454],
    ['$comment made by hand $end', null],
    ['$comment 24 MHzzz $end', null],
    ['$version 24 MHz edition $end', null],
  ])('%j', (text, statedRateHz) => {
    const { header } = collect(
      `${text}\n$timescale 1 ns $end $var wire 1 ! a $end $enddefinitions $end #0 0!\n`,
    )
    expect(header!.statedRateHz).toBe(statedRateHz)
  })

  it('tells of lines before the header', () => {
    const text =
      '\xef\xbb\xbfMETA samplerate: 100\r\nMETA x\r\n$timescale 1 ns $end $var wire 1 ! a $end $enddefinitions $end #0 0!\n'
    const { notices } = collect(text)
    expect(notices).toMatchObject([{ code: 'VCD_LINE_BEFORE_HEADER', count: 2, firstAtByte: 3 }])
  })
})

describe('names', () => {
  test.each([
    ['plain', '$var wire 1 ! HSYNC $end', ['HSYNC']],
    ['repeated spaces, several on a line', '$var  wire   1  !  a  $end $var reg 1 " b $end', ['a', 'b']],
    [
      'space missing between size and code',
      '$var wire 1! a $end $var wire 2# b [1:0] $end',
      ['a', 'b[1]', 'b[0]'],
    ],
    ['separate range', '$var wire 3 ! a [2:0] $end', ['a[2]', 'a[1]', 'a[0]']],
    ['glued range', '$var wire 3 ! a[2:0] $end', ['a[2]', 'a[1]', 'a[0]']],
    ['range with spaces', '$var wire 3 ! a [ 2 : 0 ] $end', ['a[2]', 'a[1]', 'a[0]']],
    ['ascending range', '$var wire 3 ! a [5:7] $end', ['a[5]', 'a[6]', 'a[7]']],
    ['negative bit numbers', '$var wire 3 ! a [1:-1] $end', ['a[1]', 'a[0]', 'a[-1]']],
    ['no range', '$var wire 2 ! a $end', ['a[1]', 'a[0]']],
    ['range of another size', '$var wire 2 ! a [7:0] $end', ['a[7:0][1]', 'a[7:0][0]']],
    ['word of a memory', '$var reg 2 ! mem [4] $end', ['mem[4][1]', 'mem[4][0]']],
    ['two dimensions', '$var reg 2 ! mem[4][1:0] $end', ['mem[4][1]', 'mem[4][0]']],
    ['one bit of a bus', '$var wire 1 ! a [2] $end $var wire 1 " a [1] $end', ['a[2]', 'a[1]']],
    ['vector of one bit', '$var wire 1 ! a [0:0] $end', ['a']],
    ['escaped', '$var wire 1 ! \\a.b/c $end', ['a.b/c']],
    ['escaped with brackets of its own', '$var wire 2 ! \\a[3:2] [1:0] $end', ['a[3:2][1]', 'a[3:2][0]']],
    ['escaped, range only glued', '$var wire 2 ! \\a[1:0] $end', ['a[1:0][1]', 'a[1:0][0]']],
    ['size as a range', '$var port [1:0] <0 a $end $var port 1 <1 b $end', ['a[1]', 'a[0]', 'b']],
    ['word $end inside a name', '$var wire 1 ! a$end $end', ['a$end']],
    ['scopes dropped', '$scope module top $end $scope module u1 $end $var wire 1 ! a $end', ['a']],
  ])('%s', (_, declarations, expected) => {
    expect(channelsOf(declarations)).toEqual(expected)
  })

  it('takes as many scopes as tell equal names apart', () => {
    const declarations = `
      $scope module top $end
        $var wire 1 ! a $end
        $scope module u1 $end $scope module core $end $var wire 1 " b $end $upscope $end $upscope $end
        $scope module u2 $end $scope module core $end $var wire 1 # b $end $upscope $end $upscope $end
        $scope module u3 $end $var wire 1 $ a $end $upscope $end
      $upscope $end`
    expect(channelsOf(declarations)).toEqual(['top.a', 'u1.core.b', 'u2.core.b', 'u3.a'])
  })

  it('numbers names that nothing tells apart', () => {
    expect(channelsOf('$var wire 1 ! a $end $var wire 1 " a $end $var wire 1 # a $end')).toEqual([
      'a',
      'a#2',
      'a#3',
    ])
  })

  it('keeps further references of a code as aliases', () => {
    const declarations = `
      $scope module top $end
        $var wire 1 ! hs $end $var wire 2 " red [1:0] $end
        $scope module crtc $end
          $var wire 1 ! hsync $end $var wire 1 ! hs $end $var wire 2 " r [2:1] $end
        $upscope $end
      $upscope $end`
    expect(channelsOf(declarations)).toEqual(['hs = hsync', 'red[1] = r[2]', 'red[0] = r[1]'])
  })

  it('gives an alias its scope where another channel has the name', () => {
    const declarations = `
      $var wire 1 ! red $end $var wire 1 " blue $end
      $scope module vga $end $var wire 1 " red $end $var wire 1 " blue $end $upscope $end`
    expect(channelsOf(declarations)).toEqual(['red', 'blue = vga.red'])
  })

  it('copes with scopes without a name, named end, and closed too often', () => {
    const declarations = `$upscope $end $scope module $end $scope module end $end
      $var wire 1 ! a $end $upscope $end $var wire 1 " a $end $upscope $end $upscope $end`
    expect(channelsOf(declarations)).toEqual(['end.a', 'a'])
  })

  it('describes the bus of a bit', () => {
    const { header } = collect(`$timescale 1 ns $end
      $var wire 2 ! red [1:0] $end $var wire 1 " d [7] $end $var wire 1 # d [6] $end $var wire 1 $ x $end
      $enddefinitions $end #0`)
    expect(header!.channels.map((channel) => channel.bus)).toEqual([
      { name: 'red', bit: 1, widthBits: 2 },
      { name: 'red', bit: 0, widthBits: 2 },
      { name: 'd', bit: 7, widthBits: 2 },
      { name: 'd', bit: 6, widthBits: 2 },
      null,
    ])
  })
})

describe('what becomes a channel', () => {
  it.each(['wire', 'reg', 'logic', 'tri0', 'supply1', 'wor', 'uwire', 'bit', 'port'])('%s does', (type) => {
    expect(channelsOf(`$var ${type} 1 ! a $end`)).toEqual(['a'])
  })

  test.each([
    ['real', 64],
    ['realtime', 64],
    ['parameter', 32],
    ['integer', 32],
    ['time', 64],
    ['event', 1],
    ['string', 0],
    ['string', 1],
    ['wire', 0],
    ['wire', 33],
    ['reg', 257],
  ])('%s of %i bits does not, and is counted', (type, width) => {
    const text = `$timescale 1 ns $end $var wire 1 ! a $end $var ${type} ${width} " b $end $enddefinitions $end #0 1!\n`
    const { header, notices } = collect(text)
    expect(header!.channels.map((channel) => channel.name)).toEqual(['a'])
    expect(notices).toMatchObject([
      { code: 'CHANNELS_IGNORED', count: 1, firstAtByte: text.indexOf('$var', 24) },
    ])
  })

  it('puts single wires before buses when there is not room for all, and keeps the order of the file', () => {
    const code = (n: number) => `a${n}`
    const buses = Array.from({ length: 20 }, (_, n) => `$var wire 32 ${code(n)} bus${n} [31:0] $end`)
    const wires = Array.from({ length: 100 }, (_, n) => `$var wire 1 ${code(n + 20)} wire${n} $end`)
    const { header, notices } = collect(
      `$timescale 1 ns $end ${[...buses, ...wires].join('\n')} $enddefinitions $end #0 0a20\n`,
    )
    const names = header!.channels.map((channel) => channel.name)
    // (512 - 100) / 32 = 12.9: twelve buses
    expect(names).toHaveLength(12 * 32 + 100)
    expect(names[0]).toBe('bus0[31]')
    expect(names[12 * 32]).toBe('wire0')
    expect(notices).toMatchObject([{ code: 'CHANNELS_IGNORED', count: 8 }])
  })

  it('leaves out what exceeds the bound', () => {
    const wires = Array.from({ length: MAX_CHANNELS + 3 }, (_, n) => `$var wire 1 c${n} w${n} $end`).join(
      '\n',
    )
    const result = collect(`$timescale 1 ns $end ${wires} $enddefinitions $end #0 1c511 1c512\n`)
    expect(result.header!.channels).toHaveLength(MAX_CHANNELS)
    expect(result.rows).toEqual([[0, 'w511', 1]])
    expect(noticeCounts(result)).toEqual({ CHANNELS_IGNORED: 3 })
  })
})

describe('end of the header', () => {
  const start = '$timescale 1 ns $end\n$var wire 1 ! a $end\n'

  test.each(['#0\n0!\n', '$dumpvars\n#0\n0!\n$end\n', '  #0 0!\n'])(
    'comes without $enddefinitions at %j',
    (body) => {
      const { rows, notices } = collect(start + body)
      expect(rows).toEqual([[0, 'a', 0]])
      expect(notices).toMatchObject([
        { code: 'VCD_NO_ENDDEFINITIONS', count: 1, firstAtByte: start.length + body.search(/\S/) },
      ])
    },
  )

  it('comes at a value change as well', () => {
    const result = collect(`${start}1!\n#5\n`)
    expect(result.rows).toEqual([[5, 'a', 1]])
    expect(noticeCounts(result)).toEqual({ VCD_NO_ENDDEFINITIONS: 1, VCD_VALUES_BEFORE_TIME: 1 })
  })

  it('needs no $end after $enddefinitions, and no body', () => {
    expect(collect(`${start}$enddefinitions\n#3 1!\n`).rows).toEqual([[3, 'a', 1]])
    expect(collect(`${start}$enddefinitions`)).toMatchObject({
      rows: [],
      extent: { firstTick: 0, lastTick: 0 },
    })
  })

  it('is not hidden by comments and unknown sections', () => {
    const text = `$comment first $end $date now $end $version $end
      $attrbegin misc 02 A 1030 $end $timescale 1 ns $end $comment $var wire 1 # no $end
      $scope module t $end $comment in a scope $end $var wire 1 ! a $end $attrend $end $upscope $end
      $enddefinitions $end #0 1!\n`
    const result = collect(text)
    expect(result.rows).toEqual([[0, 'a', 1]])
    expect(noticeCounts(result)).toEqual({ VCD_UNKNOWN_KEYWORD: 2 })
  })
})
