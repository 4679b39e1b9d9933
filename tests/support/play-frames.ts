// A card that shows another picture from frame to frame: signals of still pictures, cut at vsync and put together anew.

import type { DrawnSignal } from './draw-signal.ts'

/**
 * @param stills drawn with one timing and the same options; vsync lies in blanking, where all colours are low
 * @param pick which of the stills is shown in a stretch: 0 up to the first vsync, then 1, 2, …
 */
export function playFrames(stills: readonly DrawnSignal[], pick: (stretch: number) => number): DrawnSignal {
  const first = stills[0]!
  const cuts = [0, ...first.truth.vsyncSeconds, first.durationSeconds]
  const toggles = first.toggles.map((_, channel) => {
    const times: number[] = []
    for (let stretch = 0; stretch + 1 < cuts.length; stretch++) {
      for (const time of stills[pick(stretch)]!.toggles[channel]!) {
        if (time >= cuts[stretch]! && time < cuts[stretch + 1]!) times.push(time)
      }
    }
    return Float64Array.from(times)
  })
  return { ...first, startLevels: stills[pick(0)]!.startLevels, toggles }
}
