// start.tsx: a call begins: what the owner says, which oven it is, what its plate says. All of it by taps but the
// title, which the taps write by themselves.

import {useEffect, useState} from 'preact/hooks'
import {lastSeen} from './keep'
import {judgeText, look, makeRecord, newId, putOnRecord} from './net'
import {Choice, Failure, Section} from './parts'
import type {Appliance, ApplianceOfList} from './types'
import {say, spoken} from './words'

const common = ['too-cool', 'too-hot', 'slow', 'swings', 'uneven', 'no-heat', 'no-bake', 'no-broil', 'pale-bottom', 'burnt-bottom', 'pale-top', 'burnt-top', 'trips-breaker']

/** The oven that was described on this device, if that can be read. */
interface Described { text: string, appliance: Appliance }

async function findDescribed(): Promise<Described | null> {
    const text = await lastSeen('bench')
    if (typeof text !== 'string' || !text.trim()) return null
    return judgeText<Appliance>(spoken('/api/descriptions/show'), text).then(appliance => ({text, appliance}), () => null)
}

export function Start(p: {name: string, isDescribed: boolean}) {
    const [described, setDescribed] = useState<Described | null>(null)
    const [list, setList] = useState<ApplianceOfList[]>([])
    const [chosen, setChosen] = useState<Appliance | null>(null)
    const [words, setWords] = useState<string[]>([])
    const [known, setKnown] = useState<Appliance['complaints']>([])
    const [title, setTitle] = useState('')
    const [plate, setPlate] = useState<Record<string, string>>({})
    const [control, setControl] = useState<'knob' | 'keypad' | null>(null)
    const [hidden, setHidden] = useState<boolean | null>(null)
    const [error, setError] = useState<unknown>(null)
    useEffect(() => {
        look<{appliances: ApplianceOfList[]}>(spoken('/api/appliances')).then(async ({answer}) => {
            setList(answer.appliances)
            const first = answer.appliances[0]
            if (first) setKnown((await look<Appliance>(spoken(`/api/appliances/${first.appliance}`))).answer.complaints)
        }).catch(setError)
        void findDescribed().then(found => {
            setDescribed(found)
            if (p.isDescribed && found) { setChosen(found.appliance); setKnown(found.appliance.complaints) }
        })
    }, [])
    const choose = (appliance: string) => {
        look<Appliance>(spoken(`/api/appliances/${appliance}`)).then(({answer}) => { setChosen(answer); setKnown(answer.complaints) }, setError)
    }
    const fits = (a: ApplianceOfList) => (control === null || a.glance.control === control) && (hidden === null || a.glance.bake_hidden === hidden)
    const says = (word: string) => known.find(k => k.complaint === word)?.says ?? word
    const shown = known.map(k => k.complaint).sort((a, b) => rank(a) - rank(b))
    const toggle = (word: string) => setWords(w => w.includes(word) ? w.filter(x => x !== word) : [...w, word])
    const begin = async () => {
        if (!chosen) return
        const call = newId()
        const figures = Object.fromEntries(Object.entries(plate).filter(([, v]) => v.trim())
            .map(([key, v]) => [key, `${v.trim().replace(',', '.')}${key === 'supply' ? 'V' : 'W'}`]))
        const head = {call: title.trim() || words.map(says).join(', ') || chosen.appliance, appliance: chosen.appliance, ...(Object.keys(figures).length ? {plate: figures} : {})}
        const opened = makeRecord(p.name, call, 'opened', head, [])
        await putOnRecord(opened, chosen === described?.appliance ? new Blob([described.text], {type: 'text/yaml'}) : undefined)
        if (words.length) await putOnRecord(makeRecord(p.name, call, 'entry', {complaint: words}, [opened]))
        location.replace(`#/call/${call}`) // back leads to the list, not to the form
    }
    const keys = ['supply', ...(chosen?.parts.some(q => q.part === 'bake-element') ? ['bake'] : []), ...(chosen?.parts.some(q => q.part === 'broil-element') ? ['broil'] : [])]
    return <main>
        <header class="bar"><a class="quiet" href="#/">{say('back')}</a><h1>{say('new-call')}</h1></header>
        <Failure error={error} />
        <Section head="complaint-head"><div class="choices wrap">{shown.map(w =>
            <Choice key={w} pressed={words.includes(w)} onPress={() => toggle(w)}>{says(w)}</Choice>)}</div></Section>
        <Section head="appliance-head">
            <div class="choices" role="group" aria-label={say('set-by')}><span>{say('set-by')}</span>{(['knob', 'keypad'] as const).map(c =>
                <Choice key={c} pressed={control === c} onPress={() => setControl(x => x === c ? null : c)}>{say(c)}</Choice>)}</div>
            <div class="choices" role="group" aria-label={say('bake-element')}><span>{say('bake-element')}</span>
                <Choice pressed={hidden === false} onPress={() => setHidden(x => x === false ? null : false)}>{say('seen')}</Choice>
                <Choice pressed={hidden === true} onPress={() => setHidden(x => x === true ? null : true)}>{say('hidden')}</Choice></div>
            <div class="choices column">{list.filter(fits).map(a =>
            <Choice key={a.appliance} pressed={chosen !== described?.appliance && chosen?.appliance === a.appliance} onPress={() => choose(a.appliance)}>{a.says}</Choice>)}
            {described && <Choice pressed={chosen === described.appliance} onPress={() => { setChosen(described.appliance); setKnown(described.appliance.complaints) }}>
                {described.appliance.says || described.appliance.appliance} · {say('described-here')}</Choice>}
            </div></Section>
        {chosen && <Section head="plate-head"><p class="note">{say('plate-help')}</p><div class="fields">{keys.map(key =>
            <label key={key}>{key === 'supply' ? say('plate-supply') : key === 'bake' ? say('plate-bake') : say('plate-broil')}
                <input inputMode="decimal" value={plate[key] ?? ''} placeholder={key === 'supply' ? String(chosen.supply.volt) : ''}
                    onInput={e => setPlate({...plate, [key]: e.currentTarget.value})} /></label>)}</div></Section>}
        <label class="wide">{say('title')}<input value={title} onInput={e => setTitle(e.currentTarget.value)} /></label>
        <button type="button" class="main" disabled={!chosen} onClick={() => void begin().catch(setError)}>{say('begin')}</button>
    </main>
}

const rank = (word: string) => common.includes(word) ? common.indexOf(word) : common.length
