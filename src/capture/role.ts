// What a channel can carry: the wires of a digital video output, and two from inside the card.

/**
 * Roles of channels. `video` and `intensity` are the mono pair; `red`/`secondary-red` are the two bits
 * of a six-wire colour output; `display-enable` and `dot-clock` are probed inside the card.
 */
export const ROLES = [
  'hsync',
  'vsync',
  'csync',
  'red',
  'green',
  'blue',
  'intensity',
  'secondary-red',
  'secondary-green',
  'secondary-blue',
  'video',
  'display-enable',
  'dot-clock',
] as const

export type Role = (typeof ROLES)[number]
