// settings.tsx: a device gets in; what it shows and how; for the office, the other devices.

import {useEffect, useState} from 'preact/hooks'
import {ask, look} from './net'
import {Choice, Failure, Section} from './parts'
import type {Right, Session} from './types'
import {choose, degrees, language, say, theme} from './words'

export function Pair(p: {onIn: (session: Session) => void}) {
    const [code, setCode] = useState('')
    const [name, setName] = useState('')
    const [error, setError] = useState<unknown>(null)
    const enter = () => {
        const typed = code.trim().toLowerCase()
        const whole = typed.includes('-') || typed.length < 6 ? typed : `${typed.slice(0, 5)}-${typed.slice(5)}`
        // asked for once more, so that the device remembers it without a connection
        ask<Session>('POST', '/api/session', {code: whole, name: name.trim()})
            .then(() => look<Session>('/api/session')).then(({answer}) => p.onIn(answer), setError)
    }
    return <main>
        <header class="bar"><h1>{say('pair-head')}</h1></header>
        <p class="note">{say('pair-help')}</p>
        <form onSubmit={e => { e.preventDefault(); enter() }} class="fields">
            <label>{say('code')}<input value={code} autocomplete="one-time-code" autocapitalize="none" spellcheck={false} onInput={e => setCode(e.currentTarget.value)} /></label>
            <label>{say('your-name')}<input value={name} autocomplete="name" onInput={e => setName(e.currentTarget.value)} /></label>
            <button type="submit" class="main" disabled={!code.trim() || !name.trim()}>{say('let-in')}</button>
        </form>
        <Failure error={error} />
    </main>
}

interface Device { device: number, name: string, right: Right, revoked: boolean }

function Devices() {
    const [devices, setDevices] = useState<Device[]>([])
    const [made, setMade] = useState<{code: string, right: Right, minutes: number} | null>(null)
    const [error, setError] = useState<unknown>(null)
    const load = () => void look<{devices: Device[]}>('/api/devices').then(({answer}) => setDevices(answer.devices), setError)
    useEffect(load, [])
    const right = (r: Right) => say(r === 'apprentice' ? 'right-apprentice' : r === 'technician' ? 'right-technician' : 'right-office')
    return <Section head="devices">
        <Failure error={error} />
        <p>{say('make-code')}</p>
        <div class="choices wrap">{(['apprentice', 'technician', 'office'] as const).map(r =>
            <button type="button" key={r} onClick={() => void ask<NonNullable<typeof made>>('POST', '/api/codes', {right: r}).then(setMade, setError)}>{right(r)}</button>)}</div>
        {made && <p class="code" role="status">{say('code-is', {code: made.code, right: right(made.right), n: made.minutes})}</p>}
        <ul class="rows">{devices.map(d => <li key={d.device}><span>{d.name} · {right(d.right)}{d.revoked ? ` · ${say('revoked')}` : ''}</span>
            {!d.revoked && <button type="button" onClick={() => void ask('DELETE', `/api/devices/${d.device}`).then(load, setError)}>{say('revoke')}</button>}</li>)}</ul>
    </Section>
}

export function Settings(p: {session: Session, onChange: () => void}) {
    const pick = (name: 'language' | 'degrees' | 'theme', value: string) => { choose(name, value); p.onChange() }
    return <main>
        <header class="bar"><a class="quiet" href="#/">{say('back')}</a><h1>{say('settings')}</h1></header>
        <p>{p.session.name}</p>
        <Section head="language-head"><div class="choices"><Choice pressed={language() === 'en'} onPress={() => pick('language', 'en')}>English</Choice>
            <Choice pressed={language() === 'es'} onPress={() => pick('language', 'es')}>Español</Choice></div></Section>
        <Section head="degrees"><div class="choices"><Choice pressed={degrees() === 'F'} onPress={() => pick('degrees', 'F')}>°F</Choice>
            <Choice pressed={degrees() === 'C'} onPress={() => pick('degrees', 'C')}>°C</Choice></div></Section>
        <Section head="theme"><div class="choices">{(['system', 'light', 'dark'] as const).map(t =>
            <Choice key={t} pressed={theme() === t} onPress={() => pick('theme', t)}>{say(t === 'system' ? 'theme-system' : t === 'light' ? 'theme-light' : 'theme-dark')}</Choice>)}</div></Section>
        <a class="button" href="#/bench">{say('bench')}</a>
        {p.session.right === 'office' && <Devices />}
    </main>
}
