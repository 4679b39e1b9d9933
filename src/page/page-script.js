// The page's own script, put into it as it stands here: enlarges the picture, draws the charts, shows a plan's bands.
// Without it the page says the same; it only moves less. Plain JavaScript, since it goes from this file to the browser.

'use strict'

// the charting library stands in a script of its own, before this one
const Chart = window.uPlot

/** Sizes of a dot that the picture goes through, in pixels. */
const DOT_PIXELS = [1, 2, 3, 4, 6, 8, 12, 16, 24, 32]
/** From this size on, dots are told apart by a grid. */
const GRID_PIXELS = 8
/** Size of the button that shows single dots. */
const SINGLE_DOT_PIXELS = 12
const CHART_HEIGHT = 260
/** A step of zoom, and of moving, as shares of what a chart shows. */
const ZOOM_STEP = 0.5
const MOVE_STEP = 0.25

/**
 * @template {Element} T
 * @param {ParentNode} parent
 * @param {string} selector
 * @returns {T} there by construction of the page
 */
function part(parent, selector) {
  return /** @type {T} */ (parent.querySelector(selector))
}

/**
 * @param {HTMLElement} place that has the keyboard's focus
 * @param {(key: string) => boolean} act says whether it took the key
 */
function onKey(place, act) {
  place.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return
    if (act(event.key)) event.preventDefault()
  })
}

/** @param {HTMLElement} viewer */
function setUpViewer(viewer) {
  /** @type {HTMLElement} */
  const stage = part(viewer, '[data-stage]')
  /** @type {HTMLElement} */
  const sheet = part(viewer, '[data-sheet]')
  const place = part(viewer, '[data-place]')
  const dots = Number(viewer.dataset.dots)
  const scanlines = Number(viewer.dataset.scanlines)
  const aspect = Number(viewer.dataset.aspect)
  /** Pixels per dot; 0 = as large as the page is wide. */
  let scale = 0

  const present = () => sheet.getBoundingClientRect().width / dots

  /** @param {number} clientX @param {number} clientY */
  const tell = (clientX, clientY) => {
    const { left, top, width, height } = sheet.getBoundingClientRect()
    const dot = Math.floor(((clientX - left) / width) * dots)
    const scanline = Math.floor(((clientY - top) / height) * scanlines)
    const inside = dot >= 0 && dot < dots && scanline >= 0 && scanline < scanlines
    const size = `${Number(present().toFixed(2))} pixels a dot`
    place.textContent = inside ? `dot ${dot}, scanline ${scanline}; ${size}` : size
  }
  const tellCentre = () => {
    const { left, top, width, height } = stage.getBoundingClientRect()
    tell(left + width / 2, top + height / 2)
  }

  /** @param {number} next @param {number} [clientX] what stays where it is @param {number} [clientY] */
  const show = (next, clientX, clientY) => {
    const window = stage.getBoundingClientRect()
    const before = sheet.getBoundingClientRect()
    const x = clientX ?? window.left + window.width / 2
    const y = clientY ?? window.top + window.height / 2
    const across = (x - before.left) / before.width
    const down = (y - before.top) / before.height
    if (scale === 0) stage.style.height = `${stage.offsetHeight}px`
    if (next === 0) stage.style.height = ''
    scale = next
    sheet.style.width = next === 0 ? '' : `${next * dots}px`
    sheet.style.setProperty('--dot', `${next}px`)
    sheet.style.setProperty('--row', `${next / aspect}px`)
    viewer.classList.toggle('enlarged', next > 0)
    viewer.classList.toggle('gridded', next >= GRID_PIXELS)
    const after = sheet.getBoundingClientRect()
    stage.scrollLeft += after.left + across * after.width - x
    stage.scrollTop += after.top + down * after.height - y
    tellCentre()
  }
  const larger = () => show(DOT_PIXELS.find((pixels) => pixels > present() * 1.01) ?? scale)
  const smaller = () => {
    const next = DOT_PIXELS.findLast((pixels) => pixels < present() * 0.99) ?? 0
    show(next * dots > stage.clientWidth ? next : 0)
  }

  const actions = /** @type {Record<string, () => void>} */ ({
    in: larger,
    out: smaller,
    fit: () => show(0),
    dots: () => show(SINGLE_DOT_PIXELS),
  })
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (viewer.querySelectorAll('[data-zoom]')))
    button.addEventListener('click', () => actions[button.dataset.zoom ?? '']?.())
  onKey(stage, (key) => {
    const action = /** @type {Record<string, () => void>} */ ({
      '+': larger,
      '=': larger,
      '-': smaller,
      0: () => show(0),
    })[key]
    action?.()
    return action !== undefined
  })
  sheet.addEventListener('dblclick', (event) => {
    show(scale === 0 ? SINGLE_DOT_PIXELS : 0, event.clientX, event.clientY)
  })
  sheet.addEventListener('pointermove', (event) => tell(event.clientX, event.clientY))
  stage.addEventListener('scroll', tellCentre)
  setUpDragging(stage)
  tellCentre()
}

/** A mouse moves what is larger than its stage by taking hold of it; fingers do without help. @param {HTMLElement} stage */
function setUpDragging(stage) {
  stage.addEventListener('pointerdown', (down) => {
    if (down.pointerType !== 'mouse' || down.button !== 0) return
    const from = { left: stage.scrollLeft + down.clientX, top: stage.scrollTop + down.clientY }
    /** @param {PointerEvent} move */
    const follow = (move) => stage.scrollTo(from.left - move.clientX, from.top - move.clientY)
    const end = () => {
      window.removeEventListener('pointermove', follow)
      window.removeEventListener('pointerup', end)
    }
    window.addEventListener('pointermove', follow)
    window.addEventListener('pointerup', end)
    down.preventDefault()
    stage.focus({ preventScroll: true })
  })
}

/**
 * @param {HTMLElement} figure
 * @param {{ x: number[], y: number[], marks: number[] }} data
 */
function setUpChart(figure, { x, y, marks }) {
  /** @type {HTMLElement} */
  const plot = part(figure, '[data-plot]')
  const range = part(figure, '[data-range]')
  const isBars = figure.dataset.kind === 'bars'
  const [first = 0, second = 0] = x
  const half = isBars ? (second - first) / 2 : 0
  const all = { min: first - half, max: (x.at(-1) ?? 0) + half }
  let shown = all
  /** @type {import('uplot') | undefined} */
  let chart

  /** @param {number} value */
  const digits = (value) => String(Number(value.toPrecision(7)))
  /**
   * As many decimals as neighbouring steps need to differ.
   * @type {import('uplot').Axis.DynamicValues}
   */
  const stepLabels = (...[, splits, , , step]) =>
    splits.map((value) => value.toFixed(Math.max(0, -Math.floor(Math.log10(step) + 1e-9))))
  /** @param {unknown} _ @param {string[] | null} labels @returns {number} */
  const labelRoom = (_, labels) => 24 + 7 * Math.max(4, ...(labels ?? []).map(({ length }) => length))
  const [labelX, unitX] = (figure.dataset.x ?? '').split(', ')
  const tell = () => {
    const isAll = shown.min <= all.min && shown.max >= all.max
    range.textContent = isAll
      ? `all of it`
      : `${digits(shown.min)} to ${digits(shown.max)} ${unitX ?? ''}`.trim()
  }
  /** @param {number} min @param {number} max */
  const show = (min, max) => {
    const span = Math.min(max - min, all.max - all.min)
    const least = Math.max(all.min, Math.min(min, all.max - span))
    chart?.setScale('x', { min: least, max: least + span })
  }
  /** @param {number} by */
  const zoom = (by) => {
    const [middle, span] = [(shown.min + shown.max) / 2, (shown.max - shown.min) * by]
    // two points are the closest that shows a line
    const closest = ((all.max - all.min) / x.length) * 2
    show(middle - Math.max(span, closest) / 2, middle + Math.max(span, closest) / 2)
  }
  /** @param {number} by */
  const move = (by) => {
    const step = (shown.max - shown.min) * by
    show(shown.min + step, shown.max + step)
  }

  const draw = () => {
    chart?.destroy()
    const style = getComputedStyle(figure)
    /** @param {string} name */
    const colour = (name) => style.getPropertyValue(name).trim()
    const axis = {
      stroke: colour('--muted'),
      grid: { stroke: colour('--rule'), width: 1 },
      ticks: { stroke: colour('--rule'), width: 1 },
      font: '12px system-ui, sans-serif',
      labelFont: '12px system-ui, sans-serif',
    }
    /** @param {unknown} _ @param {number | null} value */
    const legend = (_, value) => (value === null || value === undefined ? '–' : digits(value))
    chart = new Chart(
      {
        width: plot.clientWidth,
        height: CHART_HEIGHT,
        scales: {
          x: { time: false, range: (_, min, max) => [min ?? all.min, max ?? all.max] },
          y: {
            range: (_, min, max) => {
              const room = (max - min) * 0.08 || Math.abs(max) * 1e-4 || 1
              return isBars ? [0, max * 1.05 || 1] : [min - room, max + room]
            },
          },
        },
        cursor: { drag: { x: true, y: false } },
        axes: [
          {
            ...axis,
            label: figure.dataset.x ?? '',
            size: 40,
            labelSize: 22,
            values: stepLabels,
            space: 96,
          },
          { ...axis, label: figure.dataset.y ?? '', size: labelRoom, values: stepLabels },
        ],
        series: [
          { label: figure.dataset.x ?? labelX ?? '', value: legend },
          {
            label: figure.dataset.y ?? '',
            value: legend,
            stroke: colour('--accent'),
            width: 1.25,
            ...(isBars
              ? { fill: colour('--accent'), paths: barPaths(), points: { show: false } }
              : { points: { size: 4 } }),
          },
        ],
        hooks: {
          draw: [(self) => drawMarks(self, marks, colour('--odd'))],
          setScale: [
            (self, key) => {
              const { min, max } = self.scales.x ?? {}
              if (key !== 'x' || min === undefined || max === undefined) return
              shown = { min, max }
              tell()
            },
          ],
        },
      },
      [x, isBars ? y.map((count) => count || null) : y],
      plot,
    )
    show(shown.min, shown.max)
  }

  const actions = /** @type {Record<string, () => void>} */ ({
    in: () => zoom(ZOOM_STEP),
    out: () => zoom(1 / ZOOM_STEP),
    left: () => move(-MOVE_STEP),
    right: () => move(MOVE_STEP),
    all: () => show(all.min, all.max),
  })
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (figure.querySelectorAll('[data-zoom]')))
    button.addEventListener('click', () => actions[button.dataset.zoom ?? '']?.())
  const keys = /** @type {Record<string, string>} */ ({
    '+': 'in',
    '=': 'in',
    '-': 'out',
    0: 'all',
    ArrowLeft: 'left',
    ArrowRight: 'right',
  })
  onKey(plot, (key) => {
    const action = actions[keys[key] ?? '']
    action?.()
    return action !== undefined
  })
  draw()
  new ResizeObserver(() => {
    if (plot.clientWidth > 0) chart?.setSize({ width: plot.clientWidth, height: CHART_HEIGHT })
  }).observe(plot)
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw)
}

/** @param {import('uplot')} chart @param {number[]} marks places across @param {string} colour */
function drawMarks(chart, marks, colour) {
  const { ctx, bbox } = chart
  ctx.save()
  ctx.strokeStyle = colour
  ctx.lineWidth = devicePixelRatio
  ctx.setLineDash([4 * devicePixelRatio, 3 * devicePixelRatio])
  for (const mark of marks) {
    const place = chart.valToPos(mark, 'x', true)
    if (place < bbox.left || place > bbox.left + bbox.width) continue
    ctx.beginPath()
    ctx.moveTo(place, bbox.top)
    ctx.lineTo(place, bbox.top + bbox.height)
    ctx.stroke()
  }
  ctx.restore()
}

function barPaths() {
  return Chart.paths.bars?.({ size: [0.9, Infinity] }) ?? (() => null)
}

/** The picture is in the page once: here it is shown again, under the bands of the plan that is chosen. */
function setUpBands() {
  const frame = /** @type {HTMLImageElement | null} */ (document.querySelector('[data-frame]'))
  const again = /** @type {HTMLImageElement | null} */ (document.querySelector('[data-frame-again]'))
  if (frame && again) {
    again.src = frame.src
    again.hidden = false
  }
  for (const choice of /** @type {NodeListOf<HTMLInputElement>} */ (
    document.querySelectorAll('[data-plan]')
  )) {
    choice.addEventListener('change', () => {
      for (const [name, key] of [
        ['data-plan-bands', 'planBands'],
        ['data-plan-text', 'planText'],
      ])
        for (const element of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(`[${name}]`)))
          element.toggleAttribute('hidden', element.dataset[/** @type {string} */ (key)] !== choice.value)
    })
  }
}

/** Paper cannot be opened: everything that is folded is printed, and folded again afterwards. */
function setUpPrinting() {
  /** @type {HTMLDetailsElement[]} */
  let folded = []
  addEventListener('beforeprint', () => {
    folded = [...document.querySelectorAll('details')].filter((details) => !details.open)
    for (const details of folded) details.open = true
  })
  addEventListener('afterprint', () => {
    for (const details of folded) details.open = false
  })
}

document.documentElement.classList.add('scripted')
for (const viewer of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll('[data-viewer]')))
  setUpViewer(viewer)
const chartData = JSON.parse(document.getElementById('chart-data')?.textContent ?? '{}')
for (const figure of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll('[data-chart]')))
  setUpChart(figure, chartData[figure.dataset.chart ?? ''])
setUpBands()
setUpPrinting()
