// power.ts: whether the oven is proved dead, as the trail has it; rule S2 of doc/method/safety.md.
//
// The advice says so too, but it comes from the server: this holds between a tap and the next advice, and in a
// cellar without a net. What the power really is nobody knows who does not stand there.

import type {CallRecord, Content, Trail} from './types'

/** Runs and spots are taken on a hot oven, displays and looks in a function with its power on. */
function isLive(content: Content): boolean {
    if ('run' in content || 'spot' in content || 'setting' in content) return true
    if ('look' in content) return 'function' in content
    return typeof content['reading'] === 'string' && (content['power'] === 'on' || /[VA]$/.test(content['reading']))
}

/** A proof stands until the power is on again, and not longer. */
export const isProvedDead = (entries: Content[]): boolean =>
    entries.reduce((stands, content) => content['dead'] === 'proved' || (stands && !isLive(content)), false)

/** What stands in a trail and in the queue behind it, in order. */
export function standing(trail: Trail | null, waiting: CallRecord[]): Content[] {
    const struck = new Set(waiting.flatMap(r => r.kind === 'struck' && r.strikes ? [r.strikes] : []))
    const known = new Set(trail?.records.map(r => r.record.id)) // what has arrived may still be in the queue
    const records = [...(trail?.records.filter(r => !r.struck).map(r => r.record) ?? []), ...waiting.filter(r => !known.has(r.id))]
    return records.filter(r => r.kind === 'entry' && !struck.has(r.id)).map(r => r.content)
}
