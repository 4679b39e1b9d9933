import { expect, test } from 'vitest'
import { detectFormat } from '../../src/capture/detect-format.ts'
import { CaptureError } from '../../src/errors.ts'
import { bytesOf } from './csv-collect.ts'

const bom = '\u00ef\u00bb\u00bf'

test.each([
  ['vcd', '$date today $end\n$timescale 1 ns $end\n'],
  ['vcd', '\n\n   $version x $end\n'],
  ['vcd', `${bom}$comment\n hello $end`],
  ['vcd', 'written by some program, version 3\n$timescale 1ns $end\n'],
  ['vcd', '$var wire 1 ! a $end'],
  ['csv', 'Time [s],A\n0,1\n'],
  ['csv', `${bom}Time [s],A\n0,1\n`],
  ['csv', '0,1,0\n1,1,0\n'],
  ['csv', '; a comment about $money and $date-like words\nA,B\n0,1\n'],
  ['csv', '"Time","A"\n"0","1"\n'],
  ['csv', 'Zeit [\u00b5s];A\n0,5;1\n'],
  ['gzip', '\u001f\u008b\u0008\u0000'],
])('%s: %j', (format, text) => {
  expect(detectFormat(bytesOf(text))).toBe(format)
})

test.each([
  ['CAPTURE_EMPTY', '', 0],
  ['CAPTURE_EMPTY', ' \r\n\t\n', 0],
  ['CAPTURE_EMPTY', bom, 0],
  ['CAPTURE_FORMAT_UNKNOWN', '\u00ff\u00feT\u0000i\u0000', 0],
  ['CAPTURE_FORMAT_UNKNOWN', '\u00fe\u00ff\u0000T\u0000i', 0],
  ['CAPTURE_FORMAT_UNKNOWN', 'PK\u0003\u0004\u0014\u0000', 0],
  ['CAPTURE_FORMAT_UNKNOWN', '\u0089PNG\r\n\u001a\n\u0000\u0000', 8],
  ['CAPTURE_FORMAT_UNKNOWN', '\u007fELF\u0002', 0],
  ['CAPTURE_FORMAT_UNKNOWN', 'Time,A\n0,1\n\u0000\u0000', 11],
  ['CAPTURE_FORMAT_UNKNOWN', '<html><head>', 0],
  ['CAPTURE_FORMAT_UNKNOWN', `${bom}<?xml version="1.0"?>`, 0],
  ['CAPTURE_FORMAT_UNKNOWN', '{"a": 1}', 0],
  ['CAPTURE_FORMAT_UNKNOWN', '[\n  {"a": 1}]', 0],
  ['CAPTURE_FORMAT_UNKNOWN', '%PDF-1.7\n', 0],
])('%s: %j', (code, text, byte) => {
  const detect = (): string => detectFormat(bytesOf(text))
  expect(detect).toThrow(CaptureError)
  expect(detect).toThrow(expect.objectContaining({ code, at: { byte }, hint: expect.any(String) as string }))
})
