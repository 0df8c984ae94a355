// parts.tsx: what several screens are made of.

import {createContext, type ComponentChildren} from 'preact'
import {useContext, useState} from 'preact/hooks'
import {plain, say, type Word} from './words'

/** What parts, places and functions of the oven at hand are called in the reader's language; a name of the file that has
 * no other stands for itself. Of a fault the part is called so, and its way of failing is said beside it. */
export const Called = createContext<Record<string, string>>({})

/** Is what is answered only imagined? */
export const Trying = createContext(false)

/** What the button says that ends an answer. */
export const usePutDown = (): string => say(useContext(Trying) ? 'imagine' : 'put-down')

export function useNames(): {name: (id: string) => string, fault: (id: string, says?: string) => string, told: (content: Record<string, unknown>) => string} {
    const called = useContext(Called)
    return {
        name: id => called[id] ?? id,
        told: content => plain(content, called),
        fault: (id, says) => {
            const parts = id.split('+').map(one => called[one.split('.')[0] ?? ''] ?? one)
            return parts.join(' + ') + (says && parts.join('+') !== id ? `: ${says}` : '')
        },
    }
}

export function Section(p: {head: Word, children: ComponentChildren, id?: string}) {
    return <section aria-labelledby={`head-${p.id ?? p.head}`}><h2 id={`head-${p.id ?? p.head}`}>{say(p.head)}</h2>{p.children}</section>
}

/** A choice by thumb: what is pressed says so to the eye by a mark, and to other readers by its state. */
export function Choice(p: {pressed: boolean, onPress: () => void, children: ComponentChildren}) {
    return <button type="button" class="choice" aria-pressed={p.pressed} onClick={p.onPress}>{p.children}</button>
}

export function Failure(p: {error: unknown}) {
    if (!p.error) return null
    const why = p.error instanceof Error && p.error.message ? p.error.message : say('no-connection')
    return <p class="failure" role="alert">{say('failed', {why})}</p>
}

export function Fold(p: {head: string, children: ComponentChildren, open?: boolean}) {
    return <details open={p.open}><summary>{p.head}</summary><div class="folded">{p.children}</div></details>
}

/** A figure that says where it comes from when it is tapped. */
export function Whence(p: {from: string, children: ComponentChildren}) {
    return <details class="whence"><summary class="about">{p.children}</summary><p class="note">{p.from}</p></details>
}

/** A figure with its unit, by thumb. `units[0]` is shown first; '' is a unit that nobody writes. */
export function Pad(p: {units: string[], hasSign?: boolean, hasOpen?: boolean, onDone: (value: string) => void, label: string}) {
    const [digits, setDigits] = useState('')
    const [unit, setUnit] = useState(p.units[0] ?? '')
    const putDown = usePutDown()
    const press = (key: string) => setDigits(d => key === '.' && d.includes('.') ? d : d.length < 8 ? d + key : d)
    const turn = () => setDigits(d => d.startsWith('-') ? d.slice(1) : '-' + d)
    const isFigure = /\d/.test(digits)
    return <div class="pad" role="group" aria-label={p.label}>
        <output class="figure" aria-live="polite">{digits.replace('-', '\u2212') || '\u2013'} {shown(unit)}</output>
        {p.units.length > 1 && <div class="choices" role="group" aria-label={say('unit')}>
            {p.units.map(u => <Choice key={u} pressed={u === unit} onPress={() => setUnit(u)}>{shown(u)}</Choice>)}
        </div>}
        <div class="keys">
            {['7', '8', '9', '4', '5', '6', '1', '2', '3', '.', '0'].map(k =>
                <button type="button" key={k} onClick={() => press(k)}>{k}</button>)}
            <button type="button" aria-label={say('backspace')} onClick={() => setDigits(d => d.slice(0, -1))}>⌫</button>
        </div>
        <div class="ends">
            {p.hasSign && <button type="button" aria-label={say('sign')} onClick={turn}>±</button>}
            {p.hasOpen && <button type="button" onClick={() => p.onDone('OL')}>{say('out-of-range')}</button>}
            <button type="button" class="main" disabled={!isFigure} onClick={() => p.onDone(digits.replace(/\.$/, '') + unit)}>{putDown}</button>
        </div>
    </div>
}

const signs: Record<string, string> = {ohm: 'Ω', kohm: 'kΩ', Mohm: 'MΩ', F: '°F', C: '°C'}
const shown = (unit: string) => signs[unit] ?? unit
