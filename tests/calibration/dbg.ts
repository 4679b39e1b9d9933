import { measureCard } from '../support/measured-card.ts'
export function experiment(): void {
  for (const key of ['cga80','ega350with366'] as const)
  for (const rate of [24e6, 16e6]) for (const f of [{timeDecimals:9},{timeDecimals:8},{timeDecimals:7},{timeDecimals:6},{timeDigits:7},{timeDigits:6}]) {
    const { main, measurement, signal } = measureCard(key, 'text', rate, { form: { kind: 'csv', rows: 'per-change', time: 'seconds', ...f } })
    const q = (m: {value:number,uncertainty:number}, t: number): string => `${((m.value-t)/t).toExponential(1)} (${((m.value-t)/m.uncertainty).toFixed(2)}u)`
    console.log(key, rate/1e6, JSON.stringify(f), 'int', measurement.sampleIntervalSeconds, measurement.sampleIntervalUncertaintySeconds, 'res', measurement.timebase.resolutionTicks*measurement.timebase.secondsPerTick, main.classification.standard?.id, main.raster.dotClockFrom, main.raster.dotsPerScanline, 'rate', q(main.hsync.frequencyHz, signal.truth.scanlineHz), 'w', q(main.hsync.widthSeconds, (key==='cga80'?80:80)/signal.truth.dotClockHz), 'v', main.vsync ? q(main.vsync.widthSeconds, (key==='cga80'?16:13)/signal.truth.scanlineHz):null, measurement.segments.length, JSON.stringify(main.faults), measurement.notices.map(x=>x.code).join())
  }
}
