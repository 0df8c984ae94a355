// net.ts: questions to the server, the queue of records, and the stream of changes.

import {addWaiting, allWaiting, dropWaiting, keepSeen, lastSeen, putWaiting, type Waiting} from './keep'
import type {CallRecord, Content, Kind, Refusal} from './types'

/** An answer that is no success; `status` 0: the server was not reached. */
export class Refused extends Error {
    constructor(readonly status: number, readonly refusal: Refusal | null) {
        super(refusal ? `${refusal.found}; ${refusal.expected}${refusal.hint ? '. ' + refusal.hint : ''}` : '')
    }
}

async function send(method: string, path: string, body?: BodyInit): Promise<Response> {
    try {
        return await fetch(path, {method, body, credentials: 'same-origin', cache: 'no-store'})
    } catch {
        throw new Refused(0, null)
    }
}

async function read<T>(answer: Response): Promise<T> {
    const text = await answer.text()
    const value = text ? JSON.parse(text) as unknown : null
    if (!answer.ok) throw new Refused(answer.status, (value as {error?: Refusal} | null)?.error ?? null)
    return value as T
}

export async function ask<T>(method: string, path: string, body?: unknown): Promise<T> {
    return read<T>(await send(method, path, body === undefined ? undefined : JSON.stringify(body)))
}

/** What the server says of a description that somebody is writing. */
export const judgeText = async <T>(path: string, text: string): Promise<T> => read<T>(await send('POST', path, text))

export async function drawText(path: string, text: string): Promise<Blob> {
    const answer = await send('POST', path, text)
    return answer.ok ? answer.blob() : read<Blob>(answer)
}

/** The answer, or without a connection what it was the last time. */
export async function look<T>(path: string): Promise<{answer: T, isOld: boolean}> {
    try {
        const answer = await ask<T>('GET', path)
        await keepSeen(path, answer)
        return {answer, isOld: false}
    } catch (error) {
        const kept = error instanceof Refused && error.status === 0 ? await lastSeen(path) : undefined
        if (kept === undefined) throw error
        return {answer: kept as T, isOld: true}
    }
}

// ---- records

/** UUID version 7 (RFC 9562): the moment, then random bits; also where the page is not encrypted. */
export function newId(): string {
    const bytes = crypto.getRandomValues(new Uint8Array(16))
    let moment = Date.now()
    for (let i = 5; i >= 0; i--) {
        bytes[i] = moment % 256
        moment = Math.floor(moment / 256)
    }
    bytes[6] = 0x70 | ((bytes[6] ?? 0) & 0x0f)
    bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f)
    const hex = [...bytes].map(b => b.toString(16).padStart(2, '0')).join('')
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-')
}

const deviceName = () => /iPhone|iPad|Android/.exec(navigator.userAgent)?.[0] ?? 'browser'

/** Later than everything of the call that this device has seen, however wrong its clock is. */
export function makeRecord(by: string, call: string, kind: Kind, content: Content, after: CallRecord[], strikes?: string): CallRecord {
    const latest = Math.max(0, ...after.map(r => Date.parse(r.at)))
    const record: CallRecord = {
        id: newId(), call, at: new Date(Math.max(Date.now(), latest + 1)).toISOString(), by, device: deviceName(), kind, content,
    }
    if (kind === 'entry') record.subject = Object.keys(content)[0]
    if (strikes) record.strikes = strikes
    return record
}

let sending: Promise<void> | null = null
const listeners = new Set<() => void>()
export function onQueue(listener: () => void): () => void {
    listeners.add(listener)
    return () => listeners.delete(listener)
}
const tell = () => listeners.forEach(listener => listener())

/** On the device first, so that nothing typed is lost; then to the server, in order. */
export async function putOnRecord(record: CallRecord, bytes?: Blob): Promise<void> {
    await addWaiting({call: record.call, line: JSON.stringify(record), bytes})
    tell()
    await drain()
}

/** One at a time: a record that the server refuses stays, with its reason, and does not stop the others. */
async function drainOnce(): Promise<void> {
    for (const waiting of await allWaiting()) {
        if (waiting.refused || waiting.number === undefined) continue
        try {
            await sendOne(waiting)
            await dropWaiting(waiting.number)
        } catch (error) {
            if (!(error instanceof Refused) || error.status === 0 || error.status >= 500 || error.status === 401 || error.status === 429) return
            await putWaiting({...waiting, refused: error.message})
        }
        tell()
    }
}

async function sendOne(waiting: Waiting): Promise<void> {
    const record = JSON.parse(waiting.line) as CallRecord
    if (waiting.bytes) {
        const kept = await read<{attachment: string}>(await send('PUT', '/api/attachments', waiting.bytes))
        record.attachment = kept.attachment
    }
    await read(await send('POST', '/api/records', JSON.stringify(record) + '\n'))
}

export function drain(): Promise<void> {
    sending ??= drainOnce().finally(() => { sending = null })
    return sending
}

export async function forget(number: number): Promise<void> {
    await dropWaiting(number)
    tell()
}

export const waitingOf = async (call: string): Promise<Waiting[]> => (await allWaiting()).filter(w => w.call === call)

addEventListener('online', () => void drain())
setInterval(() => void drain(), 5000)

// ---- changes that others make

export function watch(call: string, changed: () => void, isHeard: (is: boolean) => void): () => void {
    const stream = new EventSource(`/api/calls/${call}/events`)
    stream.addEventListener('records', changed)
    stream.onopen = () => { isHeard(true); void drain() }
    stream.onerror = () => isHeard(false)
    return () => stream.close()
}
