// entry.tsx: the outcome of a step, asked for in the way that it is found out: a figure, a word, yes or no, a file.

import {useState} from 'preact/hooks'
import {Choice, Fold, Pad, useNames, usePutDown} from './parts'
import type {Asks, Content} from './types'
import {degrees, say} from './words'

export type Put = (content: Content, bytes?: Blob) => void

const units = {ohm: ['ohm', 'kohm', 'Mohm'], volt: ['V', 'mV'], amp: ['A']}

/** Where the hands go, before the figure. */
export function Where(p: {entry: Content}) {
    const {name} = useNames()
    const list = (key: string) => (p.entry[key] as string[] | undefined) ?? []
    return <dl class="where">
        {list('between').length > 0 && <div><dt>{say('probes')}</dt><dd>{list('between').map(m => <b key={m}>{m}</b>)}</dd></div>}
        {list('lift').length > 0 && <div><dt>{say('lifted')}</dt><dd>{list('lift').map(m => <b key={m}>{m}</b>)}</dd></div>}
        {list('unplug').length > 0 && <div><dt>{say('unplugged')}</dt><dd>{list('unplug').map(name).join(', ')}</dd></div>}
        {typeof p.entry['function'] === 'string' && <div><dt>{say('set-to')}</dt><dd>{name(p.entry['function'])}</dd></div>}
    </dl>
}

export function Answer(p: {asks: Asks, put: Put, says: (look: string) => string}) {
    const {name} = useNames()
    const {entry} = p.asks
    if ('reading' in entry && p.asks.measure)
        return <Pad label={say('reading')} units={units[p.asks.measure]} hasOpen={p.asks.measure === 'ohm'} onDone={v => p.put({...entry, reading: v})} />
    if ('look' in entry && p.asks.among) return <Glance asks={p.asks} put={p.put} says={p.says} />
    if ('look' in entry)
        return <div class="answers">{p.asks.sees?.map(s =>
            <button type="button" key={s} onClick={() => p.put({...entry, sees: s})}>{p.says(s)}</button>)}</div>
    if ('asked' in entry)
        return <div class="answers two"><button type="button" onClick={() => p.put({...entry, answer: 'yes'})}>{say('yes')}</button>
            <button type="button" onClick={() => p.put({...entry, answer: 'no'})}>{say('no')}</button></div>
    if ('setting' in entry) return <Setting entry={entry} put={p.put} />
    if ('spot' in entry) return <Spot entry={entry} put={p.put} />
    if ('run' in entry) return <RunTaken entry={entry} put={p.put} />
    if ('repair' in entry)
        return <div class="answers"><button type="button" class="main" onClick={() => p.put(entry)}>{say('did-it', {what: `${entry['did'] === 'adjusted' ? say('adjusted') : say('replaced')}, ${name(String(entry['repair']))}`})}</button></div>
    return null
}

/** A whole place at once: nothing unusual, or the one part that shows something. */
function Glance(p: {asks: Asks, put: Put, says: (look: string) => string}) {
    const [part, setPart] = useState('')
    const {name} = useNames()
    const seen = p.asks.parts?.find(s => s.part === part)
    return <div>
        <div class="answers"><button type="button" onClick={() => p.put({...p.asks.entry, sees: 'sound'})}>{p.says('sound')}</button></div>
        <Fold head={say('shows-something')}>
            <div class="choices" role="group" aria-label={say('shows-something')}>{p.asks.parts?.map(s =>
                <Choice key={s.part} pressed={s.part === part} onPress={() => setPart(s.part)}>{name(s.part)}</Choice>)}</div>
            {seen && <div class="answers">{seen.sees.map(s =>
                <button type="button" key={s} onClick={() => p.put({look: part, sees: s, among: p.asks.among})}>{p.says(s)}</button>)}</div>}
        </Fold></div>
}

function Setting(p: {entry: Content, put: Put}) {
    const [meaning, setMeaning] = useState('')
    const putDown = usePutDown()
    if (p.entry['setting'] === 'offset')
        return <Pad label={say('temperature')} units={degrees() === 'F' ? ['F', 'C'] : ['C', 'F']} hasSign onDone={v => p.put({...p.entry, shows: v})} />
    return <div class="answers">
        <button type="button" onClick={() => p.put({...p.entry, shows: 'none'})}>{say('shows-none')}</button>
        <label>{say('shows-meaning')}<input value={meaning} onInput={e => setMeaning(e.currentTarget.value)} /></label>
        <button type="button" class="main" disabled={!meaning.trim()} onClick={() => p.put({...p.entry, shows: meaning.trim()})}>{putDown}</button>
    </div>
}

const settings = {F: ['325F', '350F', '375F', '400F'], C: ['160C', '180C', '200C', '220C']}

function Set(p: {value: string, onChoose: (value: string) => void}) {
    return <div class="choices" role="group" aria-label={say('set-to')}><span>{say('set-to')}</span>
        {settings[degrees()].map(s => <Choice key={s} pressed={s === p.value} onPress={() => p.onChoose(s)}>{s.replace(/[FC]$/, ' °$&')}</Choice>)}</div>
}

export function Spot(p: {entry: Content, put: Put}) {
    const [set, setSet] = useState(settings[degrees()][1] ?? '350F')
    return <div><Set value={set} onChoose={setSet} />
        <Pad label={say('temperature')} units={degrees() === 'F' ? ['F', 'C'] : ['C', 'F']} onDone={v => p.put({...p.entry, spot: v, set})} /></div>
}

/** A proving run: its log, or what was read off the thermometer. */
export function RunTaken(p: {entry: Content, put: Put}) {
    const [set, setSet] = useState(settings[degrees()][1] ?? '350F')
    const [column, setColumn] = useState('')
    const second = column.trim() ? {sensor: column.trim()} : {}
    return <div><Set value={set} onChoose={setSet} />
        <label>{say('sensor-column')}<input value={column} onInput={e => setColumn(e.currentTarget.value)} autocapitalize="none" /></label>
        <label class="file">{say('log-file')}<input type="file" accept=".csv,.txt,.log,text/*" onChange={e => {
            const file = e.currentTarget.files?.[0]
            if (file) p.put({...p.entry, run: file.name.replace(/[^\w.-]/g, '_'), set, ...second}, file)
        }} /></label>
        <Fold head={say('by-hand')}><ByHand onDone={figures => p.put({...p.entry, run: 'by-hand', set, figures})} /></Fold></div>
}

const needed = ['mean', 'swing'] as const, further = ['preheat', 'sensor-mean', 'sensor-swing'] as const
type Figure = typeof needed[number] | typeof further[number]

/** Mean and swing, and then whatever else was read. */
function ByHand(p: {onDone: (figures: Partial<Record<Figure, string>>) => void}) {
    const [figures, setFigures] = useState<Partial<Record<Figure, string>>>({})
    const [chosen, setChosen] = useState<Figure | null>(null)
    const asked = needed.find(f => !figures[f]) ?? chosen
    const put = (value: string) => { if (asked) setFigures({...figures, [asked]: value}); setChosen(null) }
    return <div>
        <dl class="where">{[...needed, ...further].filter(f => figures[f]).map(f =>
            <div key={f}><dt>{say(f)}</dt><dd><b>{figures[f]?.replace(/[FC]$/, ' °$&').replace('min', ' min')}</b></dd></div>)}</dl>
        {asked ? <><p>{say(asked)}</p><Pad key={asked} label={say(asked)} units={[asked === 'preheat' ? 'min' : degrees()]} onDone={put} /></>
            : <><div class="choices wrap" role="group" aria-label={say('figure-more')}><span>{say('figure-more')}</span>{further.filter(f => !figures[f]).map(f =>
                <Choice key={f} pressed={false} onPress={() => setChosen(f)}>{say(f)}</Choice>)}</div>
                <div class="answers"><button type="button" class="main" onClick={() => p.onDone(figures)}>{say('run-put')}</button></div></>}
    </div>
}
