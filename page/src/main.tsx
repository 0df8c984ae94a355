// main.tsx: which screen is shown, to whom.

import {render} from 'preact'
import {useEffect, useState} from 'preact/hooks'
import {Bench} from './bench'
import {Call} from './call'
import {Calls} from './list'
import {look} from './net'
import {Failure} from './parts'
import {Pair, Settings} from './settings'
import {Start} from './start'
import type {Session} from './types'
import {dress, say} from './words'

function Page() {
    const [hash, setHash] = useState(location.hash)
    const [session, setSession] = useState<Session | null>(null)
    const [error, setError] = useState<unknown>(null)
    const [, draw] = useState(0)
    useEffect(() => {
        const go = () => { setHash(location.hash); scrollTo(0, 0) }
        addEventListener('hashchange', go)
        look<Session>('/api/session').then(({answer}) => setSession(answer), setError)
        return () => removeEventListener('hashchange', go)
    }, [])
    if (error) return <main><Failure error={error} /><button type="button" onClick={() => location.reload()}>{say('again')}</button></main>
    if (!session) return <main><p role="status">{say('thinking')}</p></main>
    if (session.right === 'anybody') return <Pair onIn={setSession} />
    const [, screen, call] = hash.split('/')
    if (screen === 'call' && call) return <Call key={call} call={call} session={session} />
    if (screen === 'new' && session.right !== 'apprentice') return <Start name={session.name} isDescribed={call === 'described'} />
    if (screen === 'bench') return <Bench mayWrite={session.right !== 'apprentice'} />
    if (screen === 'settings') return <Settings session={session} onChange={() => draw(n => n + 1)} />
    return <Calls mayWrite={session.right !== 'apprentice'} />
}

dress()
const place = document.getElementById('page')
if (place) render(<Page />, place)
if ('serviceWorker' in navigator) void navigator.serviceWorker.register('/worker.js')
