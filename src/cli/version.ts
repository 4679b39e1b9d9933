// The version as package.json states it; a test holds them equal.

export const VERSION = '0.1.0'
