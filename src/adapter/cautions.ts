// Short cautions, by the screen they belong to.

/** Where a caution applies. */
export type CautionPlace = 'output' | 'resistors' | 'capture'

export interface Caution {
  id: string
  text: string
}

const WRONG_SYNC: Caution = {
  id: 'wrong-sync',
  text:
    'A CRT made for one scanline rate can be damaged by another: its sync also drives the high-voltage stage. Check the ' +
    'rates against the monitor before connecting it, and switch off at once if it whistles or the picture collapses.',
}

const CRT_CHARGE: Caution = {
  id: 'crt-charge',
  text: 'Leave the monitor closed. A CRT holds a charge that can kill, long after it was unplugged.',
}

const TTL_INPUTS: Caution = {
  id: 'ttl-inputs',
  text:
    'The card drives up to 5 V. A 3.3 V input that is not stated to be 5 V tolerant needs a level shifter or a divider; ' +
    'a series resistor alone only limits what flows through the protection diodes.',
}

const COMMON_GROUND: Caution = {
  id: 'common-ground',
  text:
    'Join the grounds first, signals after. Between devices on different mains supplies measure for a voltage before ' +
    'joining them.',
}

const OWN_CHECK: Caution = {
  id: 'own-check',
  text:
    'These are computed values for parts as described. The data sheets of the parts and the levels you measure decide: ' +
    'check every level into a 75 ohm resistor before a monitor is connected.',
}

const AUTHORITIES: Caution = {
  id: 'authorities',
  text:
    'What the makers of card, monitor and parts state goes before anything printed here, and so do local electrical ' +
    'codes; work on mains or high voltage belongs to licensed people.',
}

const CAUTIONS: Readonly<Record<CautionPlace, readonly Caution[]>> = {
  output: [WRONG_SYNC, CRT_CHARGE, COMMON_GROUND, AUTHORITIES],
  resistors: [OWN_CHECK, TTL_INPUTS, COMMON_GROUND, AUTHORITIES],
  capture: [TTL_INPUTS, COMMON_GROUND, CRT_CHARGE, AUTHORITIES],
}

/** Cautions for a screen, the weightiest first. */
export function cautionsFor(place: CautionPlace): readonly Caution[] {
  return CAUTIONS[place]
}
