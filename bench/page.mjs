// page.mjs PROGRAM: how long the page takes, in headless Chromium on this machine: until the list of calls can be used, with the
// processor slowed down four times, and from an entry to the next advice. Medians of five.
import {spawn} from 'node:child_process'
import {mkdtempSync, rmSync} from 'node:fs'
import {createRequire} from 'node:module'
import {tmpdir} from 'node:os'
import {dirname, join, resolve} from 'node:path'
import {fileURLToPath} from 'node:url'

const top = resolve(dirname(fileURLToPath(import.meta.url)), '..')
const {chromium} = createRequire(join(top, 'page/package.json'))('playwright-core')
const folder = mkdtempSync(join(tmpdir(), 'ovenwright-bench-'))
const server = spawn(resolve(process.argv[2]), ['serve', '--store', join(folder, 'calls.db'), '--port', '0'], {env: {...process.env, OVENWRIGHT_CACHE: join(folder, 'cache')}})
let said = ''
server.stdout.on('data', bytes => { said += bytes })
while (!/code \S+,/.test(said)) await new Promise(go => setTimeout(go, 20))
const address = said.split('\n')[0]

const browser = await chromium.launch({executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox']})
const context = await browser.newContext({viewport: {width: 390, height: 844}, locale: 'en-US', serviceWorkers: 'block'})
const page = await context.newPage()
const median = list => list.sort((a, b) => a - b)[list.length >> 1]
const say = (what, ms, goal) => console.log(`  ${what.padEnd(62)} ${ms.toFixed(0).padStart(5)} ms   goal ${goal} ms`)

await page.goto(address)
await page.getByLabel('Code').fill(/code (\S+),/.exec(said)[1])
await page.getByLabel('Your name').fill('Ada')
await page.getByRole('button', {name: 'Let me in'}).click()
await page.getByRole('link', {name: 'New call'}).waitFor()

const slow = await context.newCDPSession(page)
await slow.send('Emulation.setCPUThrottlingRate', {rate: 4})
const first = []
for (let round = 0; round < 5; round++) {
    const from = performance.now()
    await page.goto(`${address}/?round=${round}`)
    await page.getByRole('link', {name: 'New call'}).waitFor()
    first.push(performance.now() - from)
}
say('until the list of calls can be used, four times slower', median(first), 1000)
await slow.send('Emulation.setCPUThrottlingRate', {rate: 1})

await page.getByRole('link', {name: 'New call'}).click()
await page.getByRole('button', {name: 'pale below'}).click()
await page.getByRole('button', {name: /double-line break, exposed elements/}).click()
await page.getByRole('button', {name: 'Begin the call'}).click()
await page.locator('.step').first().waitFor()
const next = []
for (let round = 0; round < 5; round++) {
    await page.waitForFunction(() => !/Working/.test(document.querySelector('.verdict')?.textContent ?? ''))
    const counted = await page.locator('.trail li').count()
    // from the press to the moment at which the advice of the new trail is drawn, as the page itself sees it
    next.push(await page.evaluate(n => new Promise(done => {
        const from = performance.now()
        document.querySelectorAll('.question button')[1].click()
        const look = () => {
            const calm = !/Working/.test(document.querySelector('.verdict').textContent)
            if (document.querySelectorAll('.trail li:not(.waiting)').length > n && calm) done(performance.now() - from)
            else requestAnimationFrame(look)
        }
        requestAnimationFrame(look)
    }), counted))
}
say('from an answer to the next advice', median(next), 300)
await browser.close()
server.kill('SIGTERM')
rmSync(folder, {recursive: true, force: true})
