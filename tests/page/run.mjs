// run.mjs PROGRAM [FOLDER]: the page in headless Chromium with the real server and store; pictures of all screens go into
// FOLDER. Each function is one test and throws what is wrong.
import assert from 'node:assert/strict'
import {spawn, spawnSync} from 'node:child_process'
import {mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from 'node:fs'
import {createRequire} from 'node:module'
import {tmpdir} from 'node:os'
import {dirname, join, resolve} from 'node:path'
import {fileURLToPath} from 'node:url'

const top = resolve(dirname(fileURLToPath(import.meta.url)), '../..')
const require = createRequire(join(top, 'page/package.json'))
const {chromium} = require('playwright-core')
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8')
const program = resolve(process.argv[2] ?? join(top, 'build/ovenwright'))
const pictures = process.argv[3]
if (pictures) mkdirSync(pictures, {recursive: true})

const PHONE = {width: 390, height: 844}

class Server {
    constructor() {
        this.folder = mkdtempSync(join(tmpdir(), 'ovenwright-page-'))
        this.store = join(this.folder, 'calls.db')
        this.port = 0
    }

    async start() {
        this.process = spawn(program, ['serve', '--store', this.store, '--port', String(this.port)], {env: {...process.env, OVENWRIGHT_CACHE: join(this.folder, 'cache')}})
        this.said = ''
        this.process.stdout.on('data', bytes => { this.said += bytes })
        while (!/code \S+,/.test(this.said)) await new Promise(go => setTimeout(go, 20))
        this.code = /code (\S+),/.exec(this.said)[1]
        this.address = this.said.split('\n')[0]
        this.port = Number(this.address.split(':').pop())
        return this
    }

    kill() { this.process.kill('SIGKILL') }

    end() {
        this.process.kill('SIGTERM')
        rmSync(this.folder, {recursive: true, force: true})
    }

    ask(...words) {
        const done = spawnSync(program, words, {env: {...process.env, OVENWRIGHT_STORE: this.store, OVENWRIGHT_CACHE: ''}, encoding: 'utf8'})
        assert.equal(done.status, 0, done.stderr)
        return done.stdout
    }
}

const browser = await chromium.launch({executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox']})

async function phone(server, options = {}) {
    const context = await browser.newContext({viewport: PHONE, deviceScaleFactor: 2, hasTouch: true, locale: 'en-US', ...options})
    const page = await context.newPage()
    page.setDefaultTimeout(20000)
    page.wrong = []
    page.on('pageerror', error => page.wrong.push(error.message))
    page.on('console', message => { if (message.type() === 'error' && !/Failed to load resource|ERR_/.test(message.text())) page.wrong.push(message.text()) })
    await page.goto(server.address)
    return page
}

async function getIn(page, code, name) {
    await page.getByLabel(/Code|Código/).fill(code)
    await page.getByLabel(/Your name|Su nombre/).fill(name)
    await page.getByRole('button', {name: /Let me in|Entrar/}).click()
    await page.getByRole('heading', {name: /^(Calls|Avisos)$/}).waitFor()
}

async function codeFor(page, right) {
    return page.evaluate(async r => (await (await fetch('/api/codes', {method: 'POST', body: JSON.stringify({right: r})})).json()).code, right)
}

/** Every figure on record opens to where it comes from. */
async function origins(page) {
    const without = await page.evaluate(() => [...document.querySelectorAll('.trail li:not(.struck):not(.waiting)')]
        .map(li => li.querySelector(':scope > span:not(.about)')?.textContent ?? '').filter(text => /\d/.test(text)))
    assert.deepEqual(without, [], 'figures that do not say where they come from')
    // what a step costs, what an answer would mean, how probable a suspect is
    const untold = await page.evaluate(() => [...document.querySelectorAll('.step > :not(h3):not(.where):not(.power):not(.caution):not(.pad):not(.answers)')]
        .filter(at => /\d/.test(at.textContent) && !at.matches('.whence') && !at.querySelector('.note')).map(at => at.textContent))
    assert.deepEqual(untold, [], 'figures of the step that do not say where they come from')
    for (const where of ['.trail', '.step', '.suspects ~']) {
        const told = page.locator(`${where} .whence > summary`)
        assert.ok(await told.count() > 0, where)
        for (let i = 0; i < await told.count(); i++) {
            await told.nth(i).click()
            assert.ok((await told.nth(i).locator('xpath=..').locator('.note').innerText()).length > 10)
            await told.nth(i).click()
        }
    }
    const suspect = page.locator('.suspect').first()
    await suspect.locator('summary').click()
    assert.ok((await suspect.locator('p').innerText()).length > 10)
    await suspect.locator('summary').click()
}

/** Two fingers that move apart make the drawing larger, and what was between them stays there; a double tap shows all. */
async function pinch(page) {
    const frame = page.locator('.pinched')
    await frame.scrollIntoViewIfNeeded()
    const box = await frame.boundingBox(), middle = [box.x + box.width / 2, box.y + Math.min(box.height, 300) / 2]
    const widthOf = () => page.evaluate(() => document.querySelector('.pinched img').clientWidth)
    const shareAt = () => page.evaluate(([x, y]) => {
        const drawn = document.querySelector('.pinched img').getBoundingClientRect()
        return [(x - drawn.left) / drawn.width, (y - drawn.top) / drawn.height]
    }, middle)
    const before = await widthOf(), held = await shareAt()
    const hand = await page.context().newCDPSession(page)
    const fingers = gap => [-1, 1].map((side, id) => ({x: middle[0] + side * gap, y: middle[1], id}))
    await hand.send('Input.dispatchTouchEvent', {type: 'touchStart', touchPoints: fingers(30)})
    for (const gap of [45, 60, 75, 90]) await hand.send('Input.dispatchTouchEvent', {type: 'touchMove', touchPoints: fingers(gap)})
    await hand.send('Input.dispatchTouchEvent', {type: 'touchEnd', touchPoints: []})
    await page.waitForFunction(w => document.querySelector('.pinched img').clientWidth > 2 * w, before)
    const after = await shareAt()
    for (const axis of [0, 1]) assert.ok(Math.abs(after[axis] - held[axis]) < 0.03, `what is between the fingers stays: ${held} and ${after}`)
    assert.equal(await page.evaluate(() => globalThis.visualViewport.scale), 1, 'the page itself is not zoomed')
    await frame.dblclick()
    await page.waitForFunction(w => document.querySelector('.pinched img').clientWidth === w, before)
    await hand.detach()
}

/** The page as it is, for the eye and for axe: no violation on any screen. */
async function judge(page, name) {
    await page.locator('h1').first().waitFor() // or an empty page is judged
    if (pictures) writeFileSync(join(pictures, `${name}.png`), await page.screenshot({fullPage: true}))
    await page.evaluate(axe)
    const {violations} = await page.evaluate(() => globalThis.axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}))
    assert.deepEqual(violations.map(v => `${v.id}: ${v.nodes.map(n => n.html.slice(0, 120)).join(' | ')}`), [], name)
    assert.deepEqual(page.wrong, [], name)
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)
    assert.ok(wide <= 0, `${name}: ${wide} px too wide`)
    assert.doesNotMatch(await page.evaluate(() => document.body.innerText), /\\u[0-9a-f]{4}|undefined|NaN|\[object/, name)
}

async function beginCall(page, plate) {
    await page.getByRole('link', {name: 'New call'}).click()
    await page.getByRole('button', {name: 'pale below'}).click()
    await page.getByRole('button', {name: 'takes long to heat up'}).click()
    await page.getByRole('button', {name: 'a keypad'}).click()
    await page.getByRole('button', {name: 'in sight'}).click()
    if (await page.getByRole('button', {name: /thermostat/}).count()) assert.fail('a knob among the keypads')
    await page.getByRole('button', {name: /electronic oven control with double-line break, exposed elements/}).click()
    for (const [label, value] of Object.entries(plate ?? {})) await page.getByLabel(label).fill(value)
    await page.getByRole('button', {name: 'Begin the call'}).click()
    await page.locator('.step').first().waitFor()
    return page.url().split('/').pop()
}

const trail = page => page.locator('.trail li')
const settled = (page, count) => page.waitForFunction(n => document.querySelectorAll('.trail li:not(.waiting)').length === n && !document.querySelector('.trail .waiting'), count)

async function key(page, figure) {
    for (const digit of figure) await page.locator('.keys').getByRole('button', {name: digit, exact: true}).click()
}

// ---- tests

async function a_whole_call_by_taps(server) {
    const page = await phone(server)
    await judge(page, 'pair')
    await getIn(page, server.code, 'Ada')
    await judge(page, 'list-empty')
    await page.getByRole('link', {name: 'New call'}).click()
    await page.getByRole('button', {name: 'pale below'}).waitFor()
    await judge(page, 'new')
    await page.getByRole('link', {name: 'Back'}).click()
    const call = await beginCall(page, {'Supply, volts': '238', 'Bake, watts': '2500'})
    await page.getByText('Ask on the phone').waitFor()
    await judge(page, 'call-phone')
    await page.locator('.question').first().getByRole('button', {name: 'No', exact: true}).click()
    await settled(page, 3)
    // the proposed reading: first the power, then the figure
    await page.getByRole('button', {name: 'I have disconnected it and proved it dead'}).click()
    await settled(page, 4)
    await page.locator('.step .pad').waitFor()
    await page.getByText(/^Wiring of/).click()
    await page.waitForFunction(() => (document.querySelector('.drawing img')?.naturalWidth ?? 0) > 100)
    assert.match(await page.locator('.drawing img').getAttribute('src'), /probe=BK1&probe=BK2/)
    await pinch(page)
    await judge(page, 'call-reading')
    await page.locator('.step .ends').getByRole('button', {name: 'OL'}).click()
    await settled(page, 5)
    await page.getByText(/Found: bake-element.open/).waitFor()
    await judge(page, 'call-found')
    // by hand: a figure on the pad, then undone
    await page.getByText('A look, a reading, a temperature').click()
    await page.getByRole('button', {name: 'Temperature', exact: true}).click()
    await key(page, '318')
    await page.locator('.pad').last().getByRole('button', {name: 'Put on record'}).click()
    await settled(page, 6)
    await page.getByRole('button', {name: /^Undo: spot: 318F/}).click()
    await page.waitForFunction(() => document.querySelectorAll('.trail li.struck').length === 1)
    await origins(page)
    await page.getByRole('button', {name: /Done: Replaced, bake-element/}).click()
    await page.getByRole('button', {name: /^Undo: repair/}).waitFor()
    await calm(page)
    const log = join(server.folder, 'proof.csv')
    writeFileSync(log, server.ask('simulate', 'range-relay-control', '--set', '350F', '--minutes', '120'))
    for (let steps = 0; steps < 12 && !(await page.locator('.step input[type=file]').count()); steps++) await answerAnyhow(page)
    await page.locator('.step input[type=file]').setInputFiles(log)
    await page.getByText('What the log says').waitFor()
    await page.getByText('What the log says').click()
    await page.locator('.trail img').waitFor()
    await page.waitForFunction(() => document.querySelector('.trail img')?.naturalWidth > 100)
    await judge(page, 'call-proved')
    await page.getByText('What was it?').click()
    await page.getByRole('button', {name: 'bake-element.open', exact: true}).last().click()
    await page.getByLabel('Minutes of work').fill('85')
    await page.getByRole('button', {name: /^Close it/}).click()
    await page.getByRole('button', {name: 'It came back: reopen'}).waitFor()
    await judge(page, 'call-closed')
    await page.goBack() // the back button leads to the list, and forward to the call
    await page.getByRole('heading', {name: 'Calls'}).waitFor()
    await page.goForward()
    await page.getByRole('button', {name: 'It came back: reopen'}).waitFor()
    await page.reload()
    await page.getByRole('button', {name: 'It came back: reopen'}).waitFor()
    assert.match(server.ask('call', 'list', '--all', '--fault', 'bake-element.open'), /closed/)
    assert.match(server.ask('history', 'range-relay-control'), /bake-element.open +1 /)
    assert.equal(server.ask('store', 'check'), 'nothing wrong\n')
    assert.ok(call.length === 36)
    await page.context().close()
}

/** Whatever is asked before the run: power, a look that is sound, a reading that is good. */
async function answerAnyhow(page) {
    const before = await trail(page).count()
    const step = page.locator('.step')
    const dead = step.getByRole('button', {name: /proved it dead/})
    if (await dead.count()) await dead.click()
    else if (await step.locator('.answers button').count()) {
        const sound = step.getByRole('button', {name: /sound|nothing to see|in order|No$/i})
        await (await sound.count() ? sound.first() : step.locator('.answers button').last()).click()
    } else if (await step.locator('.pad').count()) {
        const text = await step.locator('h3').textContent()
        if (/between B\w+ and G\b/.test(text ?? '')) // insulation
             await step.getByRole('button', {name: 'OL'}).click()
        else {
            await step.locator('.keys').getByRole('button', {name: '0', exact: true}).click()
            await step.getByRole('button', {name: 'Put on record'}).click()
        }
    }
    await page.waitForFunction(n => document.querySelectorAll('.trail li:not(.waiting)').length > n, before)
    await calm(page)
}

/** Nothing is being worked out any more. */
async function calm(page) {
    await page.waitForTimeout(150)
    await page.waitForFunction(() => !/Working/.test(document.querySelector('.verdict')?.textContent ?? ''))
}

/** Rule S2: a proof stands until the power is on again; then the next reading at a terminal asks for another. */
async function a_proof_ends_with_the_power(server) {
    const page = await phone(server)
    await getIn(page, server.code, 'Ada')
    const call = await beginCall(page)
    const prove = page.locator('.step').getByRole('button', {name: /proved it dead/}), state = page.locator('.known')
    const add = async (entry, count) => { server.ask('call', 'add', call, entry); await settled(page, count); await calm(page) }
    await state.getByText('take it as live').waitFor()
    await add('{reading: 48ohm, between: [S1, S2], unplug: [sensor-plug]}', 3)
    await prove.click()
    await settled(page, 4)
    await state.getByText('disconnected and proved dead').waitFor()
    assert.equal(await prove.count(), 0)
    await add('{reading: 0.1V, between: [L1, L2], power: off}', 5) // to see that it is dead
    await state.getByText('disconnected and proved dead').waitFor()
    await add('{look: broil-element, sees: glows, function: broil}', 6)
    await state.getByText('take it as live').waitFor()
    for (let steps = 0; steps < 6 && !(await prove.count()); steps++) await answerAnyhow(page) // looks that are made with the power on
    await prove.waitFor()
    await page.context().close()
}

/** Without a log: mean and swing, and what a second thermometer at the sensor showed. */
async function a_run_read_by_hand(server) {
    const page = await phone(server)
    await getIn(page, server.code, 'Ada')
    const call = await beginCall(page)
    await page.getByText('A look, a reading, a temperature').click()
    await page.getByRole('button', {name: 'Temperature run', exact: true}).click()
    await page.getByText('No log: figures by hand').last().click()
    for (const [figure, digits] of [['Mean', '335'], ['Swing', '60'], ['Mean at the sensor or bulb', '351'], ['Swing at the sensor or bulb', '40']]) {
        const choice = page.getByRole('button', {name: figure, exact: true})
        if (await choice.count()) await choice.click()
        await page.getByRole('group', {name: figure, exact: true}).waitFor()
        await key(page, digits)
        await page.locator('.pad').last().getByRole('button', {name: 'Put on record'}).click()
    }
    await page.getByRole('button', {name: 'Minutes to heat up'}).waitFor()
    await judge(page, 'call-by-hand')
    await page.getByRole('button', {name: 'Put the run on record'}).click()
    await settled(page, 3)
    const kept = server.ask('call', 'export', call)
    for (const figure of ['"mean":"335F"', '"swing":"60F"', '"sensor-mean":"351F"', '"sensor-swing":"40F"']) assert.ok(kept.includes(figure), kept)
    await page.context().close()
}

async function two_devices_on_one_call(server) {
    const ada = await phone(server)
    await getIn(ada, server.code, 'Ada')
    const bo = await phone(server)
    await getIn(bo, await codeFor(ada, 'technician'), 'Bo')
    const call = await beginCall(ada)
    await bo.goto(`${server.address}/#/call/${call}`)
    await settled(bo, 2)
    await ada.getByText('A look, a reading, a temperature').click()
    await ada.getByRole('button', {name: 'Note', exact: true}).click()
    await ada.getByRole('textbox', {name: 'Note'}).fill('seen by Ada')
    const from = Date.now()
    await ada.getByRole('button', {name: 'Put on record'}).click()
    await bo.getByText('note: seen by Ada').first().waitFor()
    assert.ok(Date.now() - from < 1500, `after ${Date.now() - from} ms`)
    server.ask('call', 'add', call, '{note: from the shop}')
    await bo.getByText('note: from the shop').first().waitFor()
    await ada.getByText('note: from the shop').first().waitFor()
    await ada.context().close()
    await bo.context().close()
}

async function what_is_typed_without_a_connection_waits(server) {
    const page = await phone(server)
    await getIn(page, server.code, 'Ada')
    await beginCall(page)
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready)
    server.kill() // in the middle of the visit
    await page.getByText('A look, a reading, a temperature').click()
    for (const note of ['one', 'two', 'three']) {
        if (!await page.getByRole('textbox', {name: 'Note'}).count()) await page.getByRole('button', {name: 'Note', exact: true}).click()
        await page.getByRole('textbox', {name: 'Note'}).fill(note)
        await page.getByRole('button', {name: 'Put on record'}).click()
    }
    await page.waitForFunction(() => document.querySelectorAll('.trail .waiting').length === 3)
    await page.getByText('No connection').waitFor()
    await judge(page, 'call-offline')
    await page.reload() // from what the device keeps
    await page.waitForFunction(() => document.querySelectorAll('.trail .waiting').length === 3)
    await server.start()
    await settled(page, 5)
    const listed = server.ask('call', 'export', page.url().slice(-8), '--json')
    for (const note of ['one', 'two', 'three']) assert.equal(listed.split(`"note":"${note}"`).length, 2, `${note} is there once`)
    await page.context().close()
}

async function small_dark_and_in_spanish(server) {
    const page = await phone(server, {viewport: {width: 320, height: 640}, colorScheme: 'dark', locale: 'es-ES'})
    await judge(page, 'pair-dark-es')
    await getIn(page, server.code, 'Ada')
    server.ask('call', 'new', join(top, 'data/demo/pale-bottom.yaml'))
    await page.getByLabel('Buscar un aviso').fill('pale')
    await page.locator('.calls a').first().click()
    await page.locator('.step').first().waitFor()
    await page.getByRole('heading', {name: /^Mida la resistencia entre BK1 y BK2/}).waitFor()
    await page.getByText('hilo de la resistencia roto').first().waitFor()
    // no name of the English file, and no word of a call file, in what is said and in what is on record
    const said = (await page.locator('main section').allTextContents()).join(' ')
    for (const name of [/bake-element/, /complaint/, /\blook\b/, /\bsees\b/, /\bpower\b/, /pale-bottom/, /between/, /\bwire-/, /terminal-block/, /oven-lamp/, /\bsound\b/, /burnt-terminal/, /nothing-wrong/]) assert.doesNotMatch(said, name)
    assert.match(said, /resistencia inferior/)
    await judge(page, 'call-dark-es-320')
    assert.equal(await page.evaluate(() => document.documentElement.lang), 'es')
    await page.goto(`${server.address}/#/settings`)
    await page.getByRole('heading', {name: 'Ajustes'}).waitFor()
    await page.getByRole('button', {name: 'claro'}).click()
    await page.getByRole('button', {name: '°C'}).click()
    await page.getByRole('button', {name: 'técnico', exact: true}).click()
    await page.getByRole('status').filter({hasText: 'Código'}).waitFor()
    await judge(page, 'settings-light-es')
    await page.getByRole('button', {name: 'English'}).click()
    await page.getByRole('heading', {name: 'Settings'}).waitFor()
    // one sort of degrees in everything that the program says
    const call = server.ask('call', 'new', join(top, 'data/demo/worried-owner.yaml')).match(/call (\w+)/)[1]
    for (const entry of ['{repair: control, did: adjusted}', '{look: oven-lamp, sees: lit, function: light}'])
        server.ask('call', 'add', call, entry) // then a run is next
    for (const [chosen, other] of [['°C', /\d °?F\b/], ['°F', /\d °?C\b/]]) {
        await page.goto(`${server.address}/#/settings`)
        await page.getByRole('button', {name: chosen}).click()
        await page.goto(`${server.address}/#/call/${call}`)
        await page.locator('.step').first().waitFor()
        await calm(page)
        const said = (await page.locator('main section:not(:has(.trail))').allTextContents()).join(' ')
        assert.match(said, chosen === '°C' ? /\d C\b/ : /\d F\b/, chosen)
        assert.doesNotMatch(said, other, chosen)
    }
    await page.context().close()
}

/** With the keyboard alone: every control is reached in order, and nothing needs a pointer. */
async function by_keyboard_alone(server) {
    const page = await phone(server)
    await page.getByLabel('Code').focus()
    await page.keyboard.type(server.code)
    await page.keyboard.press('Tab')
    await page.keyboard.type('Ada')
    await page.keyboard.press('Enter')
    await page.getByRole('heading', {name: 'Calls'}).waitFor()
    const tabTo = async name => {
        for (let presses = 0; presses < 90; presses++) {
            await page.keyboard.press('Tab')
            const at = await page.evaluate(() => (document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? '').trim())
            if (name.test(at)) return
        }
        assert.fail(`${name} was not reached`)
    }
    await tabTo(/^New call$/)
    await page.keyboard.press('Enter')
    await page.getByRole('button', {name: 'pale below'}).waitFor()
    await tabTo(/^pale below$/)
    await page.keyboard.press('Space')
    await tabTo(/exposed elements$/)
    await page.keyboard.press('Space')
    await page.getByText('From the rating plate').waitFor()
    await tabTo(/^Begin the call$/)
    await page.keyboard.press('Enter')
    await page.locator('.step').first().waitFor()
    await tabTo(/^Yes$/)
    await page.keyboard.press('Enter')
    await settled(page, 3)
    await page.context().close()
}

/** An apprentice reads, and finds nothing to press that would be refused. */
async function an_apprentice_only_looks(server) {
    const office = await phone(server)
    await getIn(office, server.code, 'Olga')
    const call = await beginCall(office)
    const page = await phone(server)
    await getIn(page, await codeFor(office, 'apprentice'), 'Ivo')
    assert.equal(await page.getByRole('link', {name: 'New call'}).count(), 0)
    await page.goto(`${server.address}/#/call/${call}`)
    await page.locator('.step').first().waitFor()
    await judge(page, 'call-apprentice')
    for (const name of [/Strike out/, /Put on record/, /proved it dead/, /Close it/]) assert.equal(await page.getByRole('button', {name}).count(), 0, String(name))
    // practising: answers that are only imagined move the suspects, and nothing of them is put on record
    const shares = () => page.locator('.suspects .share').allInnerTexts()
    const records = server.ask('call', 'export', call, '--json'), real = await shares()
    await page.getByRole('button', {name: /^What if/}).click()
    await page.locator('.question').first().getByRole('button', {name: 'No', exact: true}).click()
    await page.locator('.imagined li').waitFor()
    await calm(page)
    await page.getByRole('button', {name: /proved it dead/}).click()
    await page.waitForFunction(() => document.querySelectorAll('.imagined li').length === 2)
    await calm(page)
    await page.locator('.step .ends').getByRole('button', {name: 'OL'}).click()
    await page.waitForFunction(() => document.querySelectorAll('.imagined li').length === 3)
    await calm(page)
    await page.getByText(/Found: /).waitFor()
    assert.notDeepEqual(await shares(), real)
    await judge(page, 'call-what-if')
    await page.getByRole('button', {name: 'Take the last one back'}).click()
    await page.waitForFunction(() => document.querySelectorAll('.imagined li').length === 2)
    await page.getByRole('button', {name: 'Back to what is on record'}).click()
    await calm(page)
    await page.waitForFunction(wanted => [...document.querySelectorAll('.suspects .share')].map(at => at.textContent.split(' ')[0]).join() === wanted.map(t => t.split(' ')[0]).join(), real)
    assert.equal(server.ask('call', 'export', call, '--json'), records)
    await page.context().close()
    await office.context().close()
}

/** A description is written with its drawing beside it; a slip is shown with its line. */
async function an_oven_is_described(server) {
    const page = await phone(server)
    await getIn(page, server.code, 'Ada')
    await page.goto(`${server.address}/#/settings`)
    await page.getByRole('link', {name: 'Describe an oven'}).click()
    await page.getByRole('button', {name: /208Y/}).click()
    await page.getByText('Nothing to object to.').waitFor()
    await page.waitForFunction(() => (document.querySelector('.drawing img')?.naturalWidth ?? 0) > 100)
    await judge(page, 'bench')
    const text = page.getByLabel('Description')
    const good = await text.inputValue()
    await text.fill(good.replace('watts: 2500W', 'watts: 2500X'))
    await page.getByText(/^In line \d+/).waitFor()
    await page.getByText(/2500X/).first().waitFor()
    await judge(page, 'bench-wrong')
    await text.fill(good.replace(/watts: 2500W/, 'watts: 1250W'))
    await page.getByText(/1250 W/).waitFor()
    await page.reload()
    await page.waitForFunction(() => document.querySelector('textarea')?.value.includes('1250W'))
    // a call begins on it, with its own figures and its own drawing
    await text.fill(good.replace(/^appliance: .*/m, 'appliance: of-my-own').replace(/watts: 2500W/, 'watts: 1250W'))
    await page.getByText('Nothing to object to.').waitFor()
    await page.getByRole('link', {name: 'Begin a call on it'}).click()
    await page.getByRole('button', {name: /described on this device/}).and(page.locator('[aria-pressed=true]')).waitFor()
    await page.getByRole('button', {name: 'no heat at all'}).click()
    await judge(page, 'new-described')
    await page.getByRole('button', {name: 'Begin the call'}).click()
    await page.getByText('of-my-own').first().waitFor()
    await page.locator('.step').first().waitFor()
    await page.getByText(/^Wiring of of-my-own/).click()
    await page.waitForFunction(() => (document.querySelector('.drawing img')?.naturalWidth ?? 0) > 100)
    await judge(page, 'call-described')
    assert.match(server.ask('call', 'list'), /of-my-own/)
    assert.match(server.ask('call', 'show', page.url().slice(-8)), /of-my-own: /)
    await page.context().close()
}

const tests = [a_whole_call_by_taps, a_proof_ends_with_the_power, two_devices_on_one_call, what_is_typed_without_a_connection_waits, small_dark_and_in_spanish, by_keyboard_alone, an_apprentice_only_looks, a_run_read_by_hand, an_oven_is_described]
let failed = 0, run = 0
for (const test of tests) {
    if (process.argv[4] && !process.argv.slice(4).includes(test.name)) continue
    const server = await new Server().start()
    run++
    try {
        await test(server)
    } catch (error) {
        failed++
        if (pictures)
            for (const page of browser.contexts().flatMap(c => c.pages())) writeFileSync(join(pictures, `failed-${test.name}.png`), await page.screenshot({fullPage: true}))
        console.log(`${test.name}:\n    ${String(error.stack).split('\n').slice(0, 14).join('\n    ')}`)
    } finally {
        server.end()
    }
}
await browser.close()
console.log(`${run - failed} passed, ${failed} failed`)
process.exit(failed ? 1 : 0)
