// other.tsx: what nobody has proposed: any look, reading, temperature, run, repair, note or photo.

import {useState} from 'preact/hooks'
import {RunTaken, Spot, type Put} from './entry'
import {Choice, Fold, Pad, Section, useNames} from './parts'
import type {Appliance, Content} from './types'
import {say, type Word} from './words'

type What = 'look' | 'reading' | 'spot' | 'run' | 'repair' | 'note' | 'photo'

export function Other(p: {appliance: Appliance, put: Put, says: (w: string) => string}) {
    const [what, setWhat] = useState<What | null>(null)
    const done: Put = (content, bytes) => { p.put(content, bytes); setWhat(null) }
    return <Section head="something-else"><Fold head={say('what-else')}>
        <div class="choices wrap">{(['look', 'reading', 'spot', 'run', 'repair', 'note', 'photo'] as const).map(w =>
            <Choice key={w} pressed={what === w} onPress={() => setWhat(x => x === w ? null : w)}>{say(w)}</Choice>)}</div>
        {what === 'look' && <Look appliance={p.appliance} put={done} says={p.says} />}
        {what === 'reading' && <Reading appliance={p.appliance} put={done} />}
        {what === 'spot' && <Spot entry={{spot: null}} put={done} />}
        {what === 'run' && <RunTaken entry={{run: null}} put={done} />}
        {what === 'repair' && <Repair appliance={p.appliance} put={done} />}
        {what === 'note' && <Note put={done} />}
        {what === 'photo' && <Photo put={done} />}
    </Fold></Section>
}

function Pick(p: {label: Word, values: string[], value: string, onPick: (value: string) => void}) {
    const {name} = useNames()
    return <label>{say(p.label)}<select value={p.value} onChange={e => p.onPick(e.currentTarget.value)}>
        <option value="" />{p.values.map(v => <option key={v} value={v}>{name(v)}</option>)}</select></label>
}

function Look(p: {appliance: Appliance, put: Put, says: (w: string) => string}) {
    const [part, setPart] = useState('')
    const [at, setAt] = useState('')
    const chosen = p.appliance.parts.find(q => q.part === part)
    return <div class="fields">
        <Pick label="part" values={p.appliance.parts.filter(q => q.sees.length).map(q => q.part)} value={part} onPick={setPart} />
        <Pick label="set-to" values={p.appliance.functions.map(f => f.function)} value={at} onPick={setAt} />
        <div class="answers">{chosen?.sees.map(s => <button type="button" key={s}
            onClick={() => p.put({look: part, sees: s, ...(at ? {function: at} : {})})}>{p.says(s)}</button>)}</div>
    </div>
}

const measures = {ohm: ['ohm', 'kohm', 'Mohm'], volt: ['V', 'mV'], amp: ['A']}

function Reading(p: {appliance: Appliance, put: Put}) {
    const [measure, setMeasure] = useState<keyof typeof measures>('ohm')
    const [from, setFrom] = useState('')
    const [to, setTo] = useState('')
    const [lift, setLift] = useState('')
    const [at, setAt] = useState('')
    const marks = p.appliance.marks.map(m => m.mark)
    const isWhole = from !== '' && to !== '' && from !== to
    const entry = (reading: string): Content => ({reading, between: [from, to], power: measure === 'ohm' ? 'off' : 'on',
        ...(lift ? {lift: [lift]} : {}), ...(at ? {function: at} : {})})
    return <div class="fields">
        <div class="choices" role="group" aria-label={say('meter-is')}>{(['ohm', 'volt', 'amp'] as const).map(m =>
            <Choice key={m} pressed={measure === m} onPress={() => setMeasure(m)}>{m === 'ohm' ? 'Ω' : m === 'volt' ? 'V' : 'A'}</Choice>)}</div>
        <p class="caution">{say('power')}: {measure === 'ohm' ? say('power-off') : say('power-on')}</p>
        <Pick label="from" values={marks} value={from} onPick={setFrom} />
        <Pick label="to" values={marks} value={to} onPick={setTo} />
        <Pick label="lifted" values={p.appliance.marks.filter(m => m.can_lift).map(m => m.mark)} value={lift} onPick={setLift} />
        <Pick label="set-to" values={p.appliance.functions.map(f => f.function)} value={at} onPick={setAt} />
        {isWhole && <Pad key={measure} label={say('reading')} units={measures[measure]} hasOpen={measure === 'ohm'} onDone={v => p.put(entry(v))} />}
    </div>
}

function Repair(p: {appliance: Appliance, put: Put}) {
    const [part, setPart] = useState('')
    return <div class="fields"><Pick label="part" values={p.appliance.parts.map(q => q.part)} value={part} onPick={setPart} />
        <div class="answers">{(['replaced', 'repaired', 'adjusted'] as const).map(d =>
            <button type="button" key={d} disabled={!part} onClick={() => p.put({repair: part, did: d})}>{say(d)}</button>)}</div></div>
}

function Note(p: {put: Put}) {
    const [text, setText] = useState('')
    return <div class="fields"><label>{say('note')}<textarea rows={3} value={text} onInput={e => setText(e.currentTarget.value)} /></label>
        <button type="button" class="main" disabled={!text.trim()} onClick={() => p.put({note: text.trim()})}>{say('put-down')}</button></div>
}

function Photo(p: {put: Put}) {
    const [text, setText] = useState('')
    return <div class="fields"><label>{say('note')}<input value={text} onInput={e => setText(e.currentTarget.value)} /></label>
        <label class="file">{say('photo')}<input type="file" accept="image/*" capture="environment" onChange={e => {
            const file = e.currentTarget.files?.[0]
            if (file) p.put({note: text.trim() || say('photo')}, file)
        }} /></label></div>
}
