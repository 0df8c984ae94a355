// call.tsx: one call on one screen, from what is known down to the wiring.

import {useCallback, useEffect, useRef, useState} from 'preact/hooks'
import {Drawing} from './drawing'
import {Answer, Where, type Put} from './entry'
import type {Waiting} from './keep'
import {drain, forget, look, makeRecord, onQueue, putOnRecord, Refused, waitingOf, watch} from './net'
import {Other} from './other'
import {entriesOf, isProvedDead, standing} from './power'
import {Called, Choice, Failure, Fold, Section, Trying, useNames, Whence} from './parts'
import type {Advice, Appliance, Asks, CallRecord, Content, Numbered, Session, Step, Suspect, Trail} from './types'
import {clock, money, percent, say, spoken} from './words'

/** Names in the reader's language; where there are any, what an owner says is said in it, too. */
function calledBy(appliance: Appliance | null): Record<string, string> {
    if (!appliance || Object.keys(appliance.called).length === 0) return {}
    return {...Object.fromEntries(appliance.complaints.map(c => [c.complaint, c.says ?? c.complaint])), ...appliance.called}
}

interface Shown { trail: Trail, advice: Advice | null, before: Advice | null, appliance: Appliance | null, isOld: boolean }

export function Call(p: {call: string, session: Session}) {
    const [shown, setShown] = useState<Shown | null>(null)
    const [waiting, setWaiting] = useState<Waiting[]>([])
    const [isHeard, setHeard] = useState(true)
    const [isThinking, setThinking] = useState(false)
    const [error, setError] = useState<unknown>(null)
    const [isTrying, setTrying] = useState(false)
    const [imagined, setImagined] = useState<Content[]>([])
    const turn = useRef(0)

    const load = useCallback(async () => {
        const mine = ++turn.current
        const {answer: trail, isOld} = await look<Trail>(`/api/calls/${p.call}`)
        if (mine !== turn.current) return
        setShown(s => ({trail, advice: s?.advice ?? null, before: s?.before ?? null, appliance: s?.appliance ?? null, isOld}))
        setThinking(true)
        try {
            const [{answer: appliance}, {answer: advice}] = await Promise.all([
                look<Appliance>(spoken(`/api/calls/${p.call}/appliance`)), look<Advice>(spoken(`/api/calls/${p.call}/advice${asIf(imagined)}`))])
            if (mine === turn.current) setShown(s => ({trail, advice, before: s?.advice ?? null, appliance, isOld}))
        } finally {
            if (mine === turn.current) setThinking(false)
        }
    }, [p.call, imagined])
    // a call that is still on its way to the server is not there yet: that is no failure
    const reload = useCallback(() => void load().then(() => setError(null), e => {
        if (!(e instanceof Refused && (e.status === 404 || e.status === 0))) setError(e)
    }), [load])
    const lookAtQueue = useCallback(() => void waitingOf(p.call).then(setWaiting), [p.call])

    useEffect(() => {
        reload()
        lookAtQueue()
        const forgetQueue = onQueue(() => { lookAtQueue(); reload() })
        const unwatch = watch(p.call, reload, setHeard)
        void drain()
        return () => { forgetQueue(); unwatch() }
    }, [reload, lookAtQueue, p.call])

    const mayWrite = p.session.right === 'technician' || p.session.right === 'office'
    const arrived = shown?.trail.records.map(r => r.record) ?? [], known = new Set(arrived.map(r => r.id))
    const queued = waiting.map(w => ({...w, record: JSON.parse(w.line) as CallRecord})).filter(w => !known.has(w.record.id))
    const records = [...arrived, ...queued.map(w => w.record)]
    const entries = standing(shown?.trail ?? null, queued.map(w => w.record))
    const write = (kind: CallRecord['kind'], content: Content, bytes?: Blob, strikes?: string) =>
        void putOnRecord(makeRecord(p.session.name, p.call, kind, content, records, strikes), bytes).catch(setError)
    const put: Put = (content, bytes) => write('entry', content, bytes)
    const imagine: Put = (content, bytes) => bytes ? setError(new Error(say('imagine-no-log'))) : setImagined(all => [...all, content].slice(-MOST_IMAGINED))
    const setWhatIf = (is: boolean) => { setTrying(is); setImagined([]); setError(null) }
    const says = (word: string) => shown?.appliance?.looks.find(l => l.look === word)?.says ?? word
    const head = records.find(r => r.kind === 'opened')?.content
    const isClosed = shown?.trail.phase === 'closed'
    return <Called.Provider value={calledBy(shown?.appliance ?? null)}><main>
        <header class="bar"><a class="quiet" href="#/">{say('back')}</a><h1>{String(head?.['call'] ?? '…')}</h1></header>
        {!isHeard && <p class="note strong" role="status">{say('no-connection')}</p>}
        {shown?.isOld && <p class="note">{say('old-answer')}</p>}
        <Failure error={error} />
        {shown?.advice?.warnings.map(w => <p class="warning" role="alert" key={w.warning}>{w.text}</p>)}
        {head && <Known head={head} appliance={shown?.appliance ?? null} isDead={isProvedDead(entries)} />}
        {shown?.advice && !isClosed && <Trying.Provider value={isTrying}>
            {isTrying && <WhatIf imagined={imagined} end={() => setWhatIf(false)} undo={() => setImagined(all => all.slice(0, -1))} />}
            <Next advice={shown.advice} trail={shown.trail} appliance={shown.appliance} put={isTrying ? imagine : put} says={says} mayWrite={mayWrite || isTrying} isThinking={isThinking} isDead={isProvedDead([...entries, ...imagined])} />
            {!isTrying && <button type="button" onClick={() => setWhatIf(true)}>{say('what-if')}</button>}
        </Trying.Provider>}
        {!shown?.advice && <p class="note" role="status">{say('thinking')}</p>}
        {shown?.advice && <Suspects advice={shown.advice} before={shown.before} />}
        <OnRecord trail={shown?.trail ?? null} waiting={queued} mayWrite={mayWrite}
            strike={id => write('struck', {why: say('strike-why')}, undefined, id)} />
        {mayWrite && !isTrying && shown?.appliance && !isClosed && <Other appliance={shown.appliance} put={put} says={says} />}
        {shown?.appliance && <Wiring call={p.call} appliance={shown.appliance} step={shown.advice?.steps[0] ?? null} />}
        {mayWrite && !isTrying && shown && <Ending trail={shown.trail} advice={shown.advice} isClosed={isClosed} write={write} />}
        <p class="caution">{say('caution')}</p>
    </main></Called.Provider>
}

// ---- what if: answers that are only imagined, to try a way out or to learn; nothing of it is put on record

const MOST_IMAGINED = 8
const asIf = (imagined: Content[]) => imagined.map((content, i) => `${i ? '&' : '?'}if=${encodeURIComponent(JSON.stringify(content))}`).join('')

function WhatIf(p: {imagined: Content[], end: () => void, undo: () => void}) {
    const {told} = useNames()
    return <section class="imagined" aria-label={say('imagined')}>
        <p class="strong" role="status">{say('imagined')}</p>
        <ol class="rows">{p.imagined.map((content, i) => <li key={i}><span>{told(content)}</span></li>)}</ol>
        {p.imagined.length > 0 && <button type="button" onClick={p.undo}>{say('imagined-undo')}</button>}
        <button type="button" onClick={p.end}>{say('imagined-end')}</button>
    </section>
}

function Known(p: {head: Content, appliance: Appliance | null, isDead: boolean}) {
    const plate = p.head['plate'] as Content | undefined
    const {told} = useNames()
    return <Section head="known"><dl class="known">
        <div><dt>{p.appliance?.appliance ?? String(p.head['appliance'])}</dt><dd>{p.appliance?.says}</dd></div>
        {plate && <div><dt>{say('plate')}</dt><dd><Whence from={say('whence-plate')}>{told(plate)}</Whence></dd></div>}
        <div><dt>{say('power-state')}</dt><dd>{p.isDead ? say('dead-proved') : say('power-not-said')}</dd></div>
    </dl></Section>
}

// ---- the next step

function Next(p: {advice: Advice, trail: Trail, appliance: Appliance | null, put: Put, says: (w: string) => string, mayWrite: boolean, isThinking: boolean, isDead: boolean}) {
    const [chosen, setChosen] = useState<string | null>(null)
    const {steps} = p.advice
    const step = steps.find(s => s.step === chosen) ?? steps[0]
    const others = steps.filter(s => s !== step && s.role !== 'then')
    const after = steps.filter(s => s !== step && s.role === 'then')
    const key = steps.map(s => s.step).join()
    useEffect(() => setChosen(null), [key])
    return <Section head="next">
        <p class="verdict" aria-live="polite">{p.isThinking ? say('thinking') : p.advice.verdict_text}</p>
        {p.advice.before_visit && <Before visit={p.advice.before_visit} currency={p.advice.currency} put={p.put} says={p.says} mayWrite={p.mayWrite} />}
        {step && <StepCard step={step} advice={p.advice} trail={p.trail} appliance={p.appliance} put={p.put} says={p.says} mayWrite={p.mayWrite} isDead={p.isDead} key={step.step} />}
        {after.length > 0 && <Fold head={say('then')}><ul class="rows">{after.map(s => <li key={s.step}><span>{s.text}</span></li>)}</ul></Fold>}
        {others.length > 0 && <Fold head={say('instead')}><ul class="rows">{others.map(s => <li key={s.step}>
            <span>{s.text} · {money(s.expected_total_minor, p.advice.currency)}</span>
            <button type="button" onClick={() => setChosen(s.step)}>{say('use-this')}</button></li>)}</ul></Fold>}
    </Section>
}

function Power(p: {step: Step}) {
    const {power, live_work} = p.step
    return <p class={`power ${power}`}><span class="switch" aria-hidden="true">{power === 'on' ? 'I' : power === 'off' ? 'O' : '–'}</span>
        {power === 'on' ? say('power-on') : power === 'off' ? say('power-off') : say('any-power')}{live_work ? ` · ${say('live-work')}` : ''}</p>
}

/** The entry that is to be made once more, without its outcome. */
function asksAgain(trail: Trail, entry: number, appliance: Appliance | null): Asks | null {
    const content = entriesOf(trail)[entry - 1]?.record.content
    if (!content) return null
    if (typeof content['reading'] === 'string') {
        const unit = /[A-Za-z]+$/.exec(content['reading'])?.[0] ?? ''
        const measure = unit.endsWith('V') ? 'volt' : unit === 'A' ? 'amp' : 'ohm'
        return {entry: {...content, reading: null}, measure}
    }
    if (typeof content['look'] === 'string')
        return {entry: {...content, sees: null}, sees: appliance?.parts.find(q => q.part === content['look'])?.sees ?? []}
    if ('asked' in content) return {entry: {...content, answer: null}}
    if ('setting' in content) return {entry: {...content, shows: null}}
    if ('spot' in content) return {entry: {...content, spot: null}}
    if ('run' in content) return {entry: {...content, run: null}}
    return null
}

function StepCard(p: {step: Step, advice: Advice, trail: Trail, appliance: Appliance | null, put: Put, says: (w: string) => string, mayWrite: boolean, isDead: boolean}) {
    const {step} = p
    const mustProve = step.proved_dead_first && !p.isDead
    const asks = step.asks ?? (step.repeats > 0 ? asksAgain(p.trail, step.repeats, p.appliance) : null)
    return <article class="step">
        <Power step={step} />
        <h3>{step.text}</h3>
        {asks && <Where entry={asks.entry} />}
        {step.before && <p class="caution">{step.before}</p>}
        {step.repeats > 0 && <p>{say('repeat-entry', {n: step.repeats})}</p>}
        {step.second_visit && <p class="note">{say('second-visit')}</p>}
        <Whence from={say('whence-step', {minutes: Math.max(1, Math.round(step.minutes)), cost: money(step.cost_minor, p.advice.currency), total: money(step.expected_total_minor, p.advice.currency)})}>
            {say('minutes', {n: Math.max(1, Math.round(step.minutes))})} · {say('to-the-end', {cost: money(step.expected_total_minor, p.advice.currency)})}</Whence>
        {p.mayWrite && mustProve && <button type="button" class="main" onClick={() => p.put({dead: 'proved'})}>{say('prove-dead')}</button>}
        {p.mayWrite && !mustProve && asks && <Answer asks={asks} put={p.put} says={p.says} />}
        {step.outcomes.length > 0 && <Fold head={say('what-it-means')} open={step.outcomes.length < 4}>
            <ul class="rows">{step.outcomes.map(o => <li key={o.text}><span>{o.text}</span></li>)}</ul>
            <p class="note">{say('whence-outcomes')}</p></Fold>}
    </article>
}

function Before(p: {visit: NonNullable<Advice['before_visit']>, currency: string, put: Put, says: (w: string) => string, mayWrite: boolean}) {
    const carried = p.visit.parts.filter(q => q.carry)
    const {name} = useNames()
    return <Fold head={say('phone-questions')} open>
        <ul class="rows">{p.visit.questions.map(q => <li key={q.step} class="question"><span>{q.text}</span>
            {p.mayWrite && q.asks && <Answer asks={q.asks} put={p.put} says={p.says} />}</li>)}</ul>
        <h3>{say('carry')}</h3>
        {carried.length === 0 ? <p class="note">{say('carry-nothing')}</p>
            : <ul class="rows">{carried.map(q => <li key={q.part}>
                <Whence from={say('whence-part', {p: percent(q.probability), saves: money(q.saves_minor, p.currency)})}>{name(q.part)} · {percent(q.probability)}</Whence></li>)}</ul>}
    </Fold>
}

// ---- suspects

function Suspects(p: {advice: Advice, before: Advice | null}) {
    const all: Suspect[] = [...p.advice.suspects, {fault: '', part: '', probability: p.advice.nothing_wrong}]
        .sort((a, b) => b.probability - a.probability)
    const led = all.filter(s => s.probability >= 0.01).slice(0, 6)
    const rest = [...all.filter(s => !led.includes(s)), p.advice.unlisted]
    const others = rest.length - 1 + p.advice.unlisted.suspects
    const was = (fault: string) => !p.before ? undefined
        : fault ? p.before.suspects.find(s => s.fault === fault)?.probability ?? 0 : p.before.nothing_wrong
    return <Section head="suspects"><ol class="suspects">{led.map(s => <li key={s.fault}>
        <SuspectRow suspect={s} was={was(s.fault)} />
    </li>)}</ol>
        <Whence from={say('whence-suspect')}>{say('others', {n: others, p: percent(rest.reduce((sum, s) => sum + s.probability, 0))})}</Whence>
        {p.advice.contradictions.map(c => <p class="note strong" key={c.text}>{c.text}</p>)}
    </Section>
}

function SuspectRow(p: {suspect: Suspect, was: number | undefined}) {
    const s = p.suspect
    const {fault} = useNames()
    const moved = p.was !== undefined && Math.abs(p.was - s.probability) > 0.02
    const times = (factor: number) => {
        const n = factor >= 1 ? factor : 1 / factor
        return say(factor >= 1 ? 'likelier' : 'less-likely', {n: n > 1e6 ? '> 1000000' : n >= 9.95 ? Math.round(n) : n.toFixed(1)})
    }
    const why = (s.factors ?? []).filter(f => Math.max(f.factor, 1 / f.factor) > 1.5)
        .sort((a, b) => Math.max(b.factor, 1 / b.factor) - Math.max(a.factor, 1 / a.factor)).slice(0, 4)
    return <details class="suspect"><summary>
        <span class="name">{s.fault ? fault(s.fault) : say('nothing-wrong')}{s.says && <small>{s.says}</small>}</span>
        <span class="share">{percent(s.probability)}{moved && <small>{s.probability > (p.was ?? 0) ? `↑ ${say('up')}` : `↓ ${say('down')}`}</small>}</span>
        <meter min={0} max={1} value={s.probability} aria-label={percent(s.probability)} />
    </summary>
        <p>{say('whence-suspect')}</p>
        <ul class="rows">{why.map(f => <li key={f.entry}><span>{say('entry', {n: f.entry})}: {times(f.factor)}</span></li>)}</ul>
    </details>
}

// ---- what is on record

/** Of the queue, what has not arrived yet. */
type Queued = Waiting & {record: CallRecord}

function OnRecord(p: {trail: Trail | null, waiting: Queued[], mayWrite: boolean, strike: (id: string) => void}) {
    const {told} = useNames()
    const list = p.trail?.records ?? []
    const last = [...list].reverse().find(r => !r.struck && r.record.kind === 'entry')
    // numbered as the advice counts: entries that stand; the others have no number
    const entries = p.trail ? entriesOf(p.trail) : []
    const isStrikable = (r: Numbered) => !r.struck && (r.record.kind === 'entry' || r.record.kind === 'closed' || r.record.kind === 'reopened')
    const meter = list.find(r => r.record.kind === 'opened')?.record.content['meter']
    return <Section head="trail">
        {p.mayWrite && last && p.waiting.length === 0 && <button type="button" onClick={() => p.strike(last.record.id)}>{say('undo')}: {told(last.record.content)}</button>}
        {p.trail?.contradictions.map(c => <p class="note strong" key={`${c.first}-${c.second}`}>{say('contradiction')}: {c.first}, {c.second}</p>)}
        <ol class="trail">
            {list.map(r => <li key={r.record.id} class={r.struck ? 'struck' : ''} data-number={entries.includes(r) ? entries.indexOf(r) + 1 : undefined}>
                {r.struck ? <span><s>{told(r.record.content)}</s><em> ({say('struck')})</em></span>
                    : <Told record={r.record} meter={meter} />}
                {r.record.attachment && r.record.subject === 'run' && !r.struck && <RunPicture call={r.record.call} number={r.number} />}
                <div class="foot"><span class="about">{clock(r.record.at)} · {r.record.by}
                    {r.record.attachment && r.record.subject !== 'run' && <> · <a href={`/api/attachments/${r.record.attachment}`} download="attachment">{say('attached')}</a></>}</span>
                {p.mayWrite && isStrikable(r) && <button type="button" class="small" aria-label={`${say('strike')} ${r.number}`} onClick={() => p.strike(r.record.id)}>{say('strike')}</button>}</div>
            </li>)}
            {p.waiting.map(w => <li key={w.number} class="waiting">
                <span>{told(w.record.content)}</span>
                <div class="foot"><span class="about strong">{w.refused ? say('not-sent', {why: w.refused}) : say('waiting')}</span>
                <button type="button" class="small" onClick={() => void forget(w.number ?? -1)}>{say(w.refused ? 'drop' : 'undo')}</button></div>
            </li>)}
        </ol>
    </Section>
}

/** What is on record; where it holds a figure, that can be asked where it comes from. */
function Told(p: {record: CallRecord, meter: unknown}) {
    const {content, kind, by, at} = p.record
    const {told} = useNames()
    const text = told(content)
    if (!/\d/.test(text)) return <span>{text}</span>
    const who = {by, at: clock(at)}
    const from = kind === 'opened' ? say('whence-opened', who)
        : 'reading' in content ? say('whence-reading', {...who, meter: typeof p.meter === 'object' && p.meter !== null ? told(p.meter as Content) : say('ordinary-meter')})
            : 'run' in content || 'spot' in content ? say('whence-temperature', who) : say('whence-told', who)
    return <Whence from={from}>{text}</Whence>
}

/** Set point, band, cycles and what to set, once somebody wants to see it. */
function RunPicture(p: {call: string, number: number}) {
    const [text, setText] = useState<string | null>(null)
    const [error, setError] = useState<unknown>(null)
    const path = spoken(`/api/calls/${p.call}/plot?record=${p.number}`)
    const open = (e: Event) => {
        if (!(e.currentTarget as HTMLDetailsElement).open || text !== null) return
        look<{advice: {text: string}}>(spoken(`/api/calls/${p.call}/run?record=${p.number}`)).then(({answer}) => setText(answer.advice.text), setError)
    }
    return <details onToggle={open}><summary>{say('log-says')}</summary>
        <Failure error={error} />
        {text !== null && <><Whence from={say('whence-run')}><strong>{text}</strong></Whence><Drawing path={path} label={say('log-file')} says={text} from={1.5} /></>}
    </details>
}

// ---- wiring

function Wiring(p: {call: string, appliance: Appliance, step: Step | null}) {
    const {name} = useNames()
    const wanted = p.step?.asks?.entry['function']
    const [chosen, setChosen] = useState<string | null>(null)
    const shown = chosen ?? (typeof wanted === 'string' ? wanted : '')
    const probes = (p.step?.asks?.entry['between'] as string[] | undefined) ?? []
    const asked = [...(shown ? [`function=${shown}`] : []), ...probes.map(m => `probe=${m}`)].join('&')
    const path = spoken(`/api/calls/${p.call}/drawing${asked ? `?${asked}` : ''}`)
    return <Section head="wiring"><Fold head={say('drawing-of', {appliance: p.appliance.appliance, function: shown ? name(shown) : say('all-off')})}>
        <div class="choices wrap">
            <Choice pressed={shown === ''} onPress={() => setChosen('')}>{say('all-off')}</Choice>
            {p.appliance.functions.map(f => <Choice key={f.function} pressed={shown === f.function} onPress={() => setChosen(f.function)}>{name(f.function)}</Choice>)}
        </div>
        <Drawing path={path} label={say('drawing-of', {appliance: p.appliance.appliance, function: shown ? name(shown) : say('all-off')})} />
    </Fold></Section>
}

// ---- the end of it

/** What was said before the first repair is what the closing is held against, and what was found is among it. */
function useEarlier(trail: Trail, now: Advice | null): Advice | null {
    const [earlier, setEarlier] = useState<Advice | null>(null)
    const first = trail.records.find(r => !r.struck && r.record.content['repair'] !== undefined)?.number
    useEffect(() => {
        if (first === undefined || first < 2) return
        look<Advice>(spoken(`/api/calls/${trail.call}/advice?upto=${first - 1}`)).then(({answer}) => setEarlier(answer), () => setEarlier(null))
    }, [first, trail.call])
    return first === undefined ? now : earlier ?? now
}

function Ending(p: {trail: Trail, advice: Advice | null, isClosed: boolean, write: (kind: CallRecord['kind'], content: Content) => void}) {
    const [confirmed, setConfirmed] = useState<string[]>([])
    const [minutes, setMinutes] = useState('')
    const [visits, setVisits] = useState('1')
    const said = useEarlier(p.trail, p.advice)
    const {fault} = useNames()
    const says = (f: string) => [...(said?.suspects ?? []), ...(p.advice?.suspects ?? [])].find(s => s.fault === f)?.says
    if (p.isClosed) return <button type="button" onClick={() => p.write('reopened', {why: say('reopen-why')})}>{say('reopen')}</button>
    const led = [...(said?.suspects.slice(0, 4) ?? []), ...(p.advice?.suspects.slice(0, 2) ?? [])]
        .flatMap(s => s.fault.split('+')).filter((f, i, all) => all.indexOf(f) === i)
    const top = said?.suspects[0]
    const close = () => p.write('closed', {
        ...(confirmed.length ? {confirmed} : {}), ...(/^\d+$/.test(minutes) ? {minutes} : {}), visits,
        ...(said && top ? {said: top.probability > said.nothing_wrong ? {fault: top.fault, probability: top.probability.toFixed(4)}
            : {fault: 'nothing-wrong', probability: said.nothing_wrong.toFixed(4)}} : {}),
    })
    return <Section head="end-call"><Fold head={say('confirmed-what')}>
        <div class="choices column">{[...led, 'nothing-wrong'].map(f => <Choice key={f} pressed={confirmed.includes(f)}
            onPress={() => setConfirmed(c => c.includes(f) ? c.filter(x => x !== f) : [...c, f])}>{f === 'nothing-wrong' ? say('nothing-wrong') : fault(f, says(f))}</Choice>)}</div>
        <div class="fields">
            <label>{say('work-minutes')}<input inputMode="numeric" value={minutes} onInput={e => setMinutes(e.currentTarget.value)} /></label>
            <label>{say('visits')}<input inputMode="numeric" value={visits} onInput={e => setVisits(e.currentTarget.value.replace(/\D/g, '') || '1')} /></label>
        </div>
        <button type="button" class="main" onClick={close}>{say('close-it')}{confirmed.length === 0 ? ` · ${say('not-confirmed')}` : ''}</button>
    </Fold></Section>
}
