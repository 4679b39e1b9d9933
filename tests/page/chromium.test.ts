// The page in a browser: charts are drawn, zooming works, nothing is complained of, nothing is fetched. Needs Debian's
// chromium; without it these tests are skipped.

import { existsSync, readFileSync } from 'node:fs'
import { chromium, type Browser, type BrowserContextOptions, type Page } from 'playwright-core'
import { PNG } from 'pngjs'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { run, TemporaryFolder } from '../cli/run-main.ts'
import { smallCapture } from '../support/small-captures.ts'

const CHROMIUM = '/usr/bin/chromium'
const isThere = existsSync(CHROMIUM)
if (!isThere) console.warn(`skipped: the page in a browser (no ${CHROMIUM}; apt-get install chromium)`)

const ARGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-background-networking',
  '--no-first-run',
  '--disable-sync',
  '--disable-component-update',
]
const EVIL = '<script>alert(1)</script>'

const folder = new TemporaryFolder()
let browser: Browser
let file = ''
const picture = folder.join('frame.png')

beforeAll(async () => {
  if (!isThere) return
  const capture = folder.file(
    'ringing.vcd',
    smallCapture('cga80', {
      rename: { B: EVIL },
      ringing: { edge: 'trailing', delaySeconds: 0.3e-6, widthSeconds: 0.2e-6, probability: 0.03 },
    }),
  )
  file = folder.join('page.html')
  const map = ['--map', `blue=${EVIL}`]
  expect(await run(['report', capture, ...map, '-o', file])).toMatchObject({ status: 0, stderr: '' })
  expect(await run(['render', capture, ...map, '-o', picture])).toMatchObject({ status: 0 })
  browser = await chromium.launch({ executablePath: CHROMIUM, args: ARGS })
}, 60_000)

afterAll(async () => {
  await browser?.close()
  folder.remove()
})

/** What the browser had to say, and whatever the page asked for beyond itself. */
interface Opened {
  page: Page
  complaints: string[]
}

async function open(options: BrowserContextOptions = {}): Promise<Opened> {
  const page = await (
    await browser.newContext({ viewport: { width: 1100, height: 800 }, ...options })
  ).newPage()
  const complaints: string[] = []
  page.on('console', (message) => complaints.push(`${message.type()}: ${message.text()}`))
  page.on('pageerror', (error) => complaints.push(error.message))
  page.on('dialog', (dialog) => complaints.push(`dialog: ${dialog.message()}`))
  page.on('request', (request) => {
    if (!/^(?:file|data):/.test(request.url())) complaints.push(`fetches ${request.url()}`)
  })
  await page.goto(`file://${file}`)
  return { page, complaints }
}

/** How many pixels of a chart have the colour of its line, and of a fault's mark. */
async function drawnPixels(page: Page, chart: string): Promise<{ line: number; mark: number }> {
  return await page.evaluate(`(() => {
    const figure = document.querySelector('[data-chart="${chart}"]')
    const canvas = figure.querySelector('canvas')
    const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height)
    const count = (name) => {
      const hex = getComputedStyle(figure).getPropertyValue(name).trim()
      const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16))
      let pixels = 0
      for (let i = 0; i < data.length; i += 4)
        if (data[i + 3] > 200 && Math.abs(data[i] - r) + Math.abs(data[i + 1] - g) + Math.abs(data[i + 2] - b) < 12) pixels++
      return pixels
    }
    return { line: count('--accent'), mark: count('--odd') }
  })()`)
}

const rangeOf = (page: Page, chart: string): Promise<string> =>
  page.locator(`[data-chart=${chart}] [data-range]`).innerText()

/** The visible size of an element, in pixels. */
async function sizeOf(
  page: Page,
  selector: string,
): Promise<{ width: number; height: number; x: number; y: number }> {
  const box = await page.locator(selector).first().boundingBox()
  if (!box) throw new Error(`${selector} is not shown`)
  return box
}

describe.skipIf(!isThere)('in Chromium', () => {
  it('opens without a complaint, and draws both charts, by day and by night', async () => {
    for (const colorScheme of ['light', 'dark'] as const) {
      const { page, complaints } = await open({ colorScheme })
      const period = await drawnPixels(page, 'period')
      expect(period.line).toBeGreaterThan(2000)
      // a mark is a broken line a pixel wide, over some of the chart's height
      expect(period.mark).toBeGreaterThan(100)
      expect((await drawnPixels(page, 'histogram')).line).toBeGreaterThan(5000)
      const paper = await page.evaluate<string>(`getComputedStyle(document.body).backgroundColor`)
      const brightness = /\d+/.exec(paper)![0]
      expect(Number(brightness) > 128).toBe(colorScheme === 'light')
      expect(complaints).toEqual([])
      await page.context().close()
    }
  })

  it('redraws the charts when night falls', async () => {
    const { page, complaints } = await open({ colorScheme: 'light' })
    await page.emulateMedia({ colorScheme: 'dark' })
    // counts pixels of the new colour
    await expect.poll(async () => (await drawnPixels(page, 'period')).line).toBeGreaterThan(2000)
    expect(complaints).toEqual([])
    await page.context().close()
  })

  it('zooms a chart by button, by key, and by dragging over it', async () => {
    const { page, complaints } = await open()
    const zoom = (name: string): Promise<void> =>
      page.locator(`[data-chart=period] [data-zoom=${name}]`).click()
    const span = async (): Promise<number> => {
      const text = await rangeOf(page, 'period')
      const [, from, to] = /^([\d.]+) to ([\d.]+) ms$/.exec(text) ?? []
      return Number(to) - Number(from)
    }
    expect(await rangeOf(page, 'period')).toBe('all of it')
    await zoom('in')
    const half = await span()
    await zoom('in')
    expect((await span()) / half).toBeCloseTo(0.5, 2)
    await zoom('all')
    expect(await rangeOf(page, 'period')).toBe('all of it')

    await page.locator('[data-chart=period] [data-plot]').focus()
    await page.keyboard.press('+')
    expect((await span()) / half).toBeCloseTo(1, 2)
    const before = await rangeOf(page, 'period')
    await page.keyboard.press('ArrowRight')
    expect(await rangeOf(page, 'period')).not.toBe(before)
    expect((await span()) / half).toBeCloseTo(1, 2)
    await page.keyboard.press('0')
    expect(await rangeOf(page, 'period')).toBe('all of it')

    await page.locator('[data-chart=period] .u-over').scrollIntoViewIfNeeded()
    const { x, y, width, height } = await sizeOf(page, '[data-chart=period] .u-over')
    await page.mouse.move(x + width * 0.2, y + height / 2)
    await page.mouse.down()
    await page.mouse.move(x + width * 0.3, y + height / 2, { steps: 4 })
    await page.mouse.up()
    expect((await span()) / (2 * half)).toBeCloseTo(0.1, 1)
    expect((await drawnPixels(page, 'period')).line).toBeGreaterThan(200)
    // the other chart stays as it was
    expect(await rangeOf(page, 'histogram')).toBe('all of it')
    expect(complaints).toEqual([])
    await page.context().close()
  })

  it('shows the frame at its true shape, and enlarged dot by dot in its true colours', async () => {
    const { page, complaints } = await open()
    const whole = await sizeOf(page, '[data-frame]')
    expect(whole.width / whole.height).toBeCloseTo(4 / 3, 2)
    await page.locator('[data-viewer] [data-zoom=dots]').click()
    const large = await sizeOf(page, '[data-frame]')
    expect(large.width).toBeCloseTo(12 * 640, 0)
    expect(large.width / large.height).toBeCloseTo(4 / 3, 2)
    expect(await page.locator('[data-place]').innerText()).toMatch(
      /^dot 3\d\d, scanline \d+; 12 pixels a dot$/,
    )

    const stage = await sizeOf(page, '[data-stage]')
    const shot = PNG.sync.read(await page.screenshot())
    const frame = PNG.sync.read(readFileSync(picture))
    let dots = 0
    for (let row = 2; row < 8; row++) {
      for (let column = 2; column < 40; column++) {
        // the middle of a dot, away from its grid
        const dot = Math.floor((stage.x - large.x) / 12) + column
        const scanline = Math.floor(((stage.y - large.y) / large.height) * 200) + row
        const at = [large.x + (dot + 0.5) * 12, large.y + ((scanline + 0.5) / 200) * large.height]
        if (at[1]! >= Math.min(800, stage.y + stage.height)) continue
        const seen = pixel(shot, Math.round(at[0]!), Math.round(at[1]!))
        expect(seen).toEqual(pixel(frame, dot, scanline))
        dots++
      }
    }
    expect(dots).toBeGreaterThan(150)

    await page.locator('[data-stage]').focus()
    await page.keyboard.press('-')
    expect((await sizeOf(page, '[data-frame]')).width).toBeCloseTo(8 * 640, 0)
    await page.keyboard.press('0')
    expect((await sizeOf(page, '[data-frame]')).width).toBeCloseTo(whole.width, 0)
    expect(complaints).toEqual([])
    await page.context().close()
  })

  it("shows another clock's bands over the same picture when it is chosen", async () => {
    const { page, complaints } = await open()
    const shown = async (): Promise<string[]> => [
      await page.locator('[data-plan-text]:not([hidden])').innerText(),
      (await page.locator('[data-plan-bands]:not([hidden])').getAttribute('data-plan-bands')) ?? '',
    ]
    const first = await shown()
    expect(await page.locator('[data-plan]:checked').getAttribute('value')).toBe(first[1])
    expect(first[0]).toMatch(/: \d+ bands?, at columns/)
    await page.locator('[data-plan="0"]').check()
    expect(await shown()).toEqual([expect.stringMatching(/: no bands, the picture as it is\.$/), '0'])
    // by key: the radio buttons are one group
    await page.keyboard.press('ArrowDown')
    expect((await shown())[1]).toBe('1')
    expect(await page.evaluate(`document.querySelector('[data-frame-again]').naturalWidth`)).toBe(640)
    expect(complaints).toEqual([])
    await page.context().close()
  })

  it('can be gone through by keyboard, and says in words what it shows', async () => {
    const { page } = await open()
    const found = await page.evaluate<{ nameless: string[]; levels: number[] }>(`(() => {
      const isShown = (element) => element.getClientRects().length > 0
      const nameless = [...document.querySelectorAll('svg, img, button, [tabindex="0"]')]
        .filter(isShown)
        .filter((element) => !element.closest('.u-legend') && element.getAttribute('aria-hidden') !== 'true')
        .filter((element) => element.getAttribute('alt') !== '' &&
          !(element.getAttribute('aria-label') || element.getAttribute('alt') || element.textContent.trim()))
        .map((element) => element.outerHTML.slice(0, 80))
      const levels = [...document.querySelectorAll('h1, h2, h3')].filter(isShown).map((h) => Number(h.tagName[1]))
      return { nameless, levels }
    })()`)
    expect(found.nameless).toEqual([])
    expect(found.levels[0]).toBe(1)
    expect(found.levels.every((level, i) => i === 0 || level - found.levels[i - 1]! <= 1)).toBe(true)
    const reached = new Set<string>()
    for (let presses = 0; presses < 60; presses++) {
      await page.keyboard.press('Tab')
      reached.add(
        await page.evaluate<string>(`(() => {
          const { dataset, className, tagName } = document.activeElement
          return Object.keys(dataset).find((key) => key !== 'zoom') ?? (dataset.zoom ? 'zoom ' + dataset.zoom : className || tagName)
        })()`),
      )
    }
    for (const part of ['skip', 'zoom in', 'zoom dots', 'stage', 'zoom left', 'plot', 'plan', 'SUMMARY'])
      expect(reached).toContain(part)
    await page.context().close()
  })

  it('fits a phone: nothing is wider than the screen', async () => {
    const { page, complaints } = await open({
      viewport: { width: 360, height: 740 },
      hasTouch: true,
      isMobile: true,
    })
    expect(await page.evaluate(`document.documentElement.scrollWidth`)).toBe(360)
    const [wide, narrow] = [page.locator('.wide svg').first(), page.locator('.narrow svg').first()]
    expect([await wide.isVisible(), await narrow.isVisible()]).toEqual([false, true])
    await page.locator('[data-viewer] [data-zoom=dots]').tap()
    expect(await page.evaluate(`document.documentElement.scrollWidth`)).toBe(360)
    expect((await drawnPixels(page, 'period')).line).toBeGreaterThan(1000)
    expect(complaints).toEqual([])
    await page.context().close()
  })

  it('prints: charts as drawings, everything unfolded, no buttons', async () => {
    const { page } = await open({ colorScheme: 'dark' })
    await page.emulateMedia({ media: 'print' })
    const visible = async (selector: string): Promise<boolean> => page.locator(selector).first().isVisible()
    expect(await visible('[data-chart=period] .still')).toBe(true)
    expect(await visible('[data-chart=period] canvas')).toBe(false)
    expect(await visible('button')).toBe(false)
    const paper = await page.evaluate<string>(`getComputedStyle(document.body).backgroundColor`)
    expect(paper).toBe('rgb(255, 255, 255)')
    const folded = `[...document.querySelectorAll('details')].map((details) => details.open)`
    const before = await page.evaluate<boolean[]>(folded)
    expect(before).toContain(false)
    await page.evaluate(`dispatchEvent(new Event('beforeprint'))`)
    expect(await page.evaluate<boolean[]>(folded)).not.toContain(false)
    await page.evaluate(`dispatchEvent(new Event('afterprint'))`)
    expect(await page.evaluate(folded)).toEqual(before)
    const pdf = await page.pdf({ format: 'A4' })
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
    await page.context().close()
  })

  it('says the same without scripts', async () => {
    const { page, complaints } = await open({ javaScriptEnabled: false })
    expect(await page.locator('[data-chart=period] .still').isVisible()).toBe(true)
    expect(await page.locator('[data-viewer] button').first().isVisible()).toBe(false)
    expect(await page.locator('[data-frame]').isVisible()).toBe(true)
    // its own scripts are held back by the browser, which says so; nothing else is said
    expect(complaints.filter((text) => !/script/i.test(text))).toEqual([])
    await page.context().close()
  })

  it('shows what it was given as text', async () => {
    const { page, complaints } = await open()
    const names = await page.locator('.channels .strong').allInnerTexts()
    expect(names).toContain(EVIL)
    expect(await page.locator('.eyes figcaption').allInnerTexts()).toContainEqual(
      expect.stringContaining(EVIL),
    )
    expect(complaints).toEqual([])
    await page.context().close()
  })
})

function pixel({ data, width }: PNG, x: number, y: number): number[] {
  return [...data.subarray((y * width + x) * 4, (y * width + x) * 4 + 3)]
}
