// list.tsx: the calls there are.

import {useEffect, useState} from 'preact/hooks'
import {look} from './net'
import {Choice, Failure} from './parts'
import type {CallOfList} from './types'
import {clock, say} from './words'

export function Calls(p: {mayWrite: boolean}) {
    const [calls, setCalls] = useState<CallOfList[] | null>(null)
    const [words, setWords] = useState('')
    const [all, setAll] = useState(false)
    const [error, setError] = useState<unknown>(null)
    const [isOld, setOld] = useState(false)
    useEffect(() => {
        const timer = setTimeout(() => {
            look<{calls: CallOfList[]}>(`/api/calls?words=${encodeURIComponent(words)}${all ? '&all=1' : ''}`)
                .then(({answer, isOld: old}) => { setCalls(answer.calls); setOld(old); setError(null) }, setError)
        }, words ? 250 : 0)
        return () => clearTimeout(timer)
    }, [words, all])
    return <main>
        <header class="bar"><h1>{say('calls')}</h1><a class="quiet" href="#/settings">{say('settings')}</a></header>
        {p.mayWrite && <a class="main button" href="#/new">{say('new-call')}</a>}
        <div class="finder">
            <label>{say('find')}<input type="search" value={words} onInput={e => setWords(e.currentTarget.value)} /></label>
            <Choice pressed={all} onPress={() => setAll(a => !a)}>{say('closed-too')}</Choice>
        </div>
        <Failure error={error} />
        {isOld && <p class="note">{say('old-answer')}</p>}
        {calls?.length === 0 && <p class="note">{say('no-calls')}</p>}
        <ul class="calls">{calls?.map(c => <li key={c.call}><a href={`#/call/${c.call}`}>
            <span class="title">{c.title}</span>
            <span class="about">{c.appliance} · {c.phase === 'open' ? say('open') : c.phase === 'closed' ? say('closed') : say('reopened')} · {clock(c.changed)}</span>
            {c.contradictions > 0 && <span class="about strong">{say('contradiction')}</span>}
        </a></li>)}</ul>
    </main>
}
