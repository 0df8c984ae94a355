// bench.tsx: a description of an oven that no shipped file covers, written with its drawing and its resistances beside
// it. It stays on the device until a call begins on it, and then goes with the call.

import {useEffect, useRef, useState} from 'preact/hooks'
import {Drawing} from './drawing'
import {keepSeen, lastSeen} from './keep'
import {drawText, judgeText, look, Refused} from './net'
import {Choice, Failure, Section} from './parts'
import type {Appliance, ApplianceOfList} from './types'
import {say, spoken} from './words'

interface Finding { line: number, text: string, hint: string | null }

export function Bench(p: {mayWrite: boolean}) {
    const [list, setList] = useState<ApplianceOfList[]>([])
    const [text, setText] = useState('')
    const [shown, setShown] = useState<Appliance | null>(null)
    const [findings, setFindings] = useState<Finding[]>([])
    const [picture, setPicture] = useState('')
    const [error, setError] = useState<unknown>(null)
    const last = useRef('')
    useEffect(() => {
        look<{appliances: ApplianceOfList[]}>(spoken('/api/appliances')).then(({answer}) => setList(answer.appliances), setError)
        void lastSeen('bench').then(kept => { if (typeof kept === 'string') setText(kept) })
    }, [])
    useEffect(() => {
        if (!text.trim()) return
        const timer = setTimeout(() => {
            last.current = text
            void keepSeen('bench', text)
            Promise.all([judgeText<{findings: Finding[]}>('/api/descriptions', text), judgeText<Appliance>(spoken('/api/descriptions/show'), text), drawText(spoken('/api/descriptions/drawing'), text)])
                .then(([judged, appliance, drawing]) => {
                    if (last.current !== text) return
                    setError(null)
                    setFindings(judged.findings)
                    setShown(appliance)
                    setPicture(before => { if (before) URL.revokeObjectURL(before); return URL.createObjectURL(drawing) })
                }, setError)
        }, 500)
        return () => clearTimeout(timer)
    }, [text])
    const begin = (appliance: string) => {
        fetch(`/api/appliances/${appliance}/file`, {credentials: 'same-origin'}).then(async a => setText(await a.text()), setError)
    }
    const line = error instanceof Refused ? error.refusal?.line : undefined
    return <main>
        <header class="bar"><a class="quiet" href="#/settings">{say('back')}</a><h1>{say('bench')}</h1></header>
        <p class="note">{say('bench-help')}</p>
        <Section head="bench-from"><div class="choices column">{list.map(a => <Choice key={a.appliance} pressed={false} onPress={() => begin(a.appliance)}>{a.says}</Choice>)}</div></Section>
        <label>{say('bench-text')}<textarea class="code-text" rows={18} spellcheck={false} value={text} onInput={e => setText(e.currentTarget.value)} /></label>
        {line ? <p class="strong" role="status">{say('bench-line', {n: line})}</p> : null}
        <Failure error={error} />
        {!error && shown && <p class="strong" role="status">{findings.length === 0 ? say('bench-sound') : say('bench-findings', {n: findings.length})}</p>}
        <ul class="rows">{findings.map(f => <li key={f.text}><span>{f.line}: {f.text}{f.hint ? ` ${f.hint}` : ''}</span></li>)}</ul>
        {!error && shown && p.mayWrite && <a class="button" href="#/new/described">{say('bench-call')}</a>}
        {text.trim() && <a class="button" download="oven.yaml" href={`data:text/yaml;charset=utf-8,${encodeURIComponent(text)}`}>{say('bench-save')}</a>}
        {shown && <Section head="bench-ohms"><ul class="rows">{shown.parts.flatMap(q => (q.ratings ?? []).map(r =>
            <li key={q.part + r.branch}><span>{q.part}: {r.from}–{r.to}</span><span>{r.cold_ohm.toFixed(1)} Ω · {Math.round(r.watt)} W · {r.ampere.toFixed(1)} A</span></li>))}</ul></Section>}
        {picture && <Section head="wiring"><Drawing path={picture} label={say('bench')} says={say('wiring')} from={1.5} /></Section>}
    </main>
}
