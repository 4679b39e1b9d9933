// How the page looks: on a screen by day and by night, on a phone, on paper. Colours carry no meaning that words do not.

/** Style of the page, to stand after the charting library's. */
export const PAGE_STYLE = `
:root {
  color-scheme: light dark;
  --paper: #faf8f3; --card: #ffffff; --ink: #1c2430; --muted: #5a6472; --rule: #ddd8cc;
  --accent: #0a6b72; --accent-soft: #d8ecea; --odd: #9c3a10; --odd-soft: #fbe6da; --good: #1c6a3a; --good-soft: #dff1e4;
  --part-sync: #c4563c; --part-back: #dfa63f; --part-active: #2b6a8e; --part-front: #8a6bb0; --part-unknown: #b9b6ad;
  --rising: #0a6b72; --falling: #b06a00; --band: rgb(214 40 120 / 45%); --band-middle: #8c0f4e; --shade: rgb(0 0 0 / 22%);
  --sans: system-ui, "Segoe UI", Roboto, "Helvetica Neue", "DejaVu Sans", sans-serif;
  --mono: ui-monospace, "SF Mono", Consolas, "DejaVu Sans Mono", monospace;
}
@media (prefers-color-scheme: dark) {
  :root {
    --paper: #11151b; --card: #191f28; --ink: #e7e9ee; --muted: #9ba6b4; --rule: #2e3743;
    --accent: #63c7c2; --accent-soft: #17383a; --odd: #ffa27a; --odd-soft: #3a2218; --good: #84d8a0; --good-soft: #17321f;
    --part-sync: #d9705a; --part-back: #e0b052; --part-active: #33789f; --part-front: #a287cb; --part-unknown: #4a525e;
    --rising: #63c7c2; --falling: #eeb45a; --band: rgb(255 90 160 / 45%); --band-middle: #ffd0e4; --shade: rgb(255 255 255 / 18%);
  }
}
* { box-sizing: border-box; }
[hidden] { display: none !important; }
html { scroll-behavior: smooth; -webkit-text-size-adjust: 100%; }
body {
  margin: 0 auto; max-width: 66rem; padding: 0 1rem 4rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.55 var(--sans); font-variant-numeric: tabular-nums;
}
a { color: var(--accent); }
:focus-visible { outline: 3px solid var(--accent); outline-offset: 2px; border-radius: 3px; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
.skip { position: absolute; left: -99rem; }
.skip:focus { left: 1rem; top: .5rem; background: var(--card); padding: .4rem .8rem; z-index: 2; }
header { padding: 2.2rem 0 .6rem; }
header::before {
  content: ""; display: block; height: 15px; margin-bottom: 1.4rem;
  background: repeating-linear-gradient(var(--accent) 0 1px, transparent 1px 4px),
    linear-gradient(90deg, var(--part-sync) 11%, transparent 11% 13%, var(--part-active) 13% 97%, transparent 97%);
  background-blend-mode: normal; border-radius: 2px; opacity: .85;
}
.kicker { margin: 0; color: var(--muted); font-size: .85rem; letter-spacing: .04em; }
h1 { margin: .1rem 0 0; font: 600 1.5rem/1.3 var(--mono); overflow-wrap: anywhere; }
h2 { margin: 0 0 .9rem; font-size: 1.35rem; line-height: 1.3; }
h3 { margin: 1.6rem 0 .5rem; font-size: 1.05rem; }
nav ul { list-style: none; display: flex; flex-wrap: wrap; gap: .3rem .4rem; margin: .8rem 0 1.4rem; padding: 0; }
nav a {
  display: block; padding: .2rem .7rem; border: 1px solid var(--rule); border-radius: 99px; text-decoration: none;
  font-size: .9rem; background: var(--card);
}
nav a:hover { border-color: var(--accent); }
section { margin-top: 3rem; padding-top: 1.4rem; border-top: 1px solid var(--rule); scroll-margin-top: .5rem; }
p, li { max-width: 46rem; }
ul { padding-left: 1.2rem; }
li { margin: .3rem 0; }
code { font: .92em/1.4 var(--mono); background: var(--accent-soft); padding: .08em .35em; border-radius: 3px; overflow-wrap: anywhere; }
.verdict { max-width: none; margin: 0; padding: 1rem 1.2rem; border-left: 6px solid; border-radius: 4px; font-size: 1.25rem; line-height: 1.45; }
.verdict.good { border-color: var(--good); background: var(--good-soft); }
.verdict.odd { border-color: var(--odd); background: var(--odd-soft); }
.lead { font-size: 1.12rem; font-weight: 600; }
.fine, .muted, figcaption { color: var(--muted); }
.fine, figcaption { font-size: .9rem; }
.strong { font-weight: 650; color: var(--ink); }
.missing { padding: .6rem .9rem; border: 1px dashed var(--rule); border-radius: 4px; color: var(--muted); }
.tiles { display: grid; grid-template-columns: repeat(auto-fit, minmax(10.5rem, 1fr)); gap: .7rem; margin: 1.4rem 0; }
.tiles > div { background: var(--card); border: 1px solid var(--rule); border-radius: 6px; padding: .6rem .9rem; }
.tiles dt { color: var(--muted); font-size: .88rem; }
.tiles dd { margin: 0; font-size: 1.25rem; font-weight: 650; white-space: nowrap; }
.tiles small { display: block; font-size: .8rem; font-weight: 400; color: var(--muted); }
.channels { list-style: none; display: flex; flex-wrap: wrap; gap: .3rem .6rem; padding: 0; }
.channels li { margin: 0; padding: .1rem .6rem; border: 1px solid var(--rule); border-radius: 4px; color: var(--muted); overflow-wrap: anywhere; }
.facts { margin: 0; }
.facts > div { display: flex; gap: 1rem; padding: .3rem 0; }
.facts dt { flex: 0 0 6rem; color: var(--muted); }
.facts dd { margin: 0; min-width: 0; }
.digest { overflow-wrap: anywhere; }
.scroll {
  overflow-x: auto; margin: .8rem 0;
  background:
    linear-gradient(90deg, var(--paper) 40%, transparent) left / 2.5rem 100% no-repeat local,
    linear-gradient(-90deg, var(--paper) 40%, transparent) right / 2.5rem 100% no-repeat local,
    linear-gradient(90deg, var(--shade), transparent) left / .8rem 100% no-repeat scroll,
    linear-gradient(-90deg, var(--shade), transparent) right / .8rem 100% no-repeat scroll;
}
table { border-collapse: collapse; font-size: .95rem; }
th, td { padding: .32rem 1rem .32rem 0; text-align: left; vertical-align: baseline; white-space: nowrap; }
thead th { color: var(--muted); font-weight: 500; font-size: .88rem; }
tbody th { font-weight: 500; }
tbody tr { border-top: 1px solid var(--rule); }
td.number, th.number { text-align: right; }
label { cursor: pointer; }
input[type=radio] { accent-color: var(--accent); margin: 0 .4rem 0 0; }
figure { margin: 1rem 0; }
figcaption { margin: .4rem 0; max-width: 46rem; }
details { margin: 1rem 0; }
summary { cursor: pointer; font-weight: 600; padding: .3rem 0; }

.bar { display: flex; flex-wrap: wrap; align-items: center; gap: .4rem; margin: .5rem 0; }
html:not(.scripted) [data-needs-script] { display: none; }
button {
  font: inherit; font-size: .92rem; min-width: 2.3rem; min-height: 2.1rem; padding: .15rem .7rem; color: var(--ink);
  background: var(--card); border: 1px solid var(--rule); border-radius: 5px; cursor: pointer;
}
button:hover { border-color: var(--accent); }
output { color: var(--muted); font-size: .9rem; margin-left: .4rem; }

.stage { overflow: auto; background: #000; border-radius: 4px; overscroll-behavior: contain; }
.stage { width: min(100%, calc(78vh * var(--aspect))); }
.enlarged .stage { width: 100%; }
.sheet { position: relative; width: 100%; aspect-ratio: var(--aspect); background: #000; }
.sheet img, .sheet svg { position: absolute; inset: 0; width: 100%; height: 100%; display: block; }
.sheet img { image-rendering: pixelated; }
.enlarged .sheet { cursor: grab; }
.gridded .sheet::after {
  content: ""; position: absolute; inset: 0; pointer-events: none;
  background:
    linear-gradient(90deg, rgb(128 128 128 / 55%) 1px, transparent 1px) 0 0 / var(--dot) 100%,
    linear-gradient(rgb(128 128 128 / 55%) 1px, transparent 1px) 0 0 / 100% var(--row);
}
.bands .sheet { width: min(100%, 36rem); border-radius: 4px; overflow: hidden; }
.band { fill: var(--band); }
.band-middle { stroke: var(--band-middle); stroke-width: 1; vector-effect: non-scaling-stroke; }

.drawing { display: block; width: 100%; height: auto; font: 13px var(--sans); }
.wide .drawing { max-width: 51rem; }
.narrow { display: none; }
.drawing text { fill: var(--ink); font-variant-numeric: tabular-nums; }
.drawing .muted { fill: var(--muted); }
.drawing .small { font-size: 11.5px; }
.drawing .halo { paint-order: stroke; stroke: var(--paper); stroke-width: 5px; stroke-linejoin: round; }
.drawing .on-active { fill: #fff; font-size: 15px; }
.dimension { fill: none; stroke: var(--muted); stroke-width: 1; }
.grid { fill: none; stroke: var(--rule); stroke-width: 1; }
.leader { fill: none; stroke: var(--muted); stroke-width: 1; }
.leader-dot { fill: var(--card); stroke: var(--ink); stroke-width: 1; }
.wave { fill: none; stroke: var(--ink); stroke-width: 1.5; }
.part-sync { fill: var(--part-sync); } .part-back { fill: var(--part-back); } .part-active { fill: var(--part-active); }
.part-front { fill: var(--part-front); } .part-unknown { fill: var(--part-unknown); }
.eyes { display: grid; grid-template-columns: repeat(auto-fill, minmax(17rem, 1fr)); gap: 1rem 1.6rem; }
.eyes figure, .waveforms figure { margin: 0; min-width: 0; }
.rising { fill: var(--rising); } .falling { fill: var(--falling); }
.open { fill: var(--accent-soft); }
.read { stroke: var(--odd); stroke-width: 1.5; stroke-dasharray: 4 3; }
.waveforms { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 29rem), 1fr)); gap: 1.4rem 1.6rem; }
.fault { fill: var(--odd); opacity: .28; }
.expected { stroke: var(--muted); stroke-dasharray: 4 3; }
.still .line { fill: none; stroke: var(--accent); stroke-width: 1.2; }
.mark { fill: none; stroke: var(--odd); stroke-width: 1; stroke-dasharray: 4 3; }
.still .bars { fill: var(--accent); }
.scripted .still { display: none; }
.plot:empty { display: none; }
.plot { overflow: hidden; border-radius: 4px; }
.uplot { font-family: var(--sans); }
.uplot .u-legend { font-size: .85rem; color: var(--muted); text-align: left; margin: 0; }
.uplot tr { border: 0; }
.uplot .u-legend th { font-weight: 400; padding: 0 .4rem 0 0; }
.uplot .u-legend td { padding: 0 1rem 0 0; }
.uplot .u-select { background: var(--accent); opacity: .25; }
.uplot .u-hz .u-cursor-x, .uplot .u-hz .u-cursor-y { border-color: var(--muted); }

@media (max-width: 45rem) {
  body { padding: 0 .8rem 3rem; }
  .wide { display: none; }
  .narrow { display: block; }
  .verdict { font-size: 1.1rem; }
  h1 { font-size: 1.2rem; }
  .tiles { grid-template-columns: 1fr 1fr; }
  .tiles dd { font-size: 1.05rem; white-space: normal; }
  .facts > div { display: block; }
  .wraps table { font-size: .86rem; }
  .wraps th, .wraps td { white-space: normal; padding-right: .5rem; }
  .wraps td:last-child { white-space: nowrap; }
  button { min-height: 2.6rem; min-width: 2.8rem; }
}
@media print {
  :root {
    --paper: #fff; --card: #fff; --ink: #000; --muted: #444; --rule: #bbb; --accent: #0a6b72; --accent-soft: #e4efee;
    --odd: #9c3a10; --odd-soft: #fff; --good: #1c6a3a; --good-soft: #fff; --falling: #b06a00; --rising: #0a6b72;
    --part-sync: #c4563c; --part-back: #dfa63f; --part-active: #2b6a8e; --part-front: #8a6bb0; --part-unknown: #b9b6ad;
    --band: rgb(214 40 120 / 45%); --band-middle: #8c0f4e;
  }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  nav, .skip, .bar, .plot { display: none !important; }
  .still, .scripted .still { display: block; max-width: 34rem; }
  .wide { display: block; } .narrow { display: none; }
  .scroll, .stage { overflow: visible; }
  .stage, .bands .sheet { width: min(100%, 13cm) !important; height: auto !important; }
  .sheet { width: 100% !important; }
  .tiles { grid-template-columns: repeat(5, 1fr); gap: .3rem; }
  .tiles dd { font-size: 1rem; }
  table { font-size: .86rem; }
  section { margin-top: 1.4rem; padding-top: .8rem; }
  h2, h3, figcaption, summary, .lead { break-after: avoid; }
  figure, tr, .tiles > div { break-inside: avoid; }
  .waveforms, .eyes { grid-template-columns: 1fr 1fr; }
  th, td { padding-right: .7rem; }
  thead th { white-space: normal; }
  .scroll { background: none; }
}
`
