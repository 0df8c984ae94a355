// power.ts: what stands in a trail, and whether the oven is proved dead by it; rule S2 of doc/method/safety.md.
//
// The advice says so too, but it comes from the server: this holds between a tap and the next advice, and in a
// cellar without a net. What the power really is nobody knows who does not stand there.

import type {CallRecord, Content, Numbered, Trail} from './types'

/** Runs and spots are taken on a hot oven, displays and looks in a function with its power on. */
function isLive(content: Content): boolean {
    if ('run' in content || 'spot' in content || 'setting' in content) return true
    if ('look' in content) return 'function' in content
    return typeof content['reading'] === 'string' && content['power'] !== 'off' && (content['power'] === 'on' || /[VA]$/.test(content['reading']))
}

/** A proof stands until the power is on again, and not longer. */
export const isProvedDead = (entries: Content[]): boolean =>
    entries.reduce((stands, content) => content['dead'] === 'proved' || (stands && !isLive(content)), false)

/** As the advice counts them: what stands, in order. */
export const entriesOf = (trail: Trail): Numbered[] => trail.records.filter(r => r.record.kind === 'entry' && !r.struck)

/** What stands in a trail and in the queue behind it, in order. */
export function standing(trail: Trail | null, queued: CallRecord[]): Content[] {
    const struck = new Set(queued.flatMap(r => r.kind === 'struck' && r.strikes ? [r.strikes] : []))
    return [...(trail ? entriesOf(trail).map(r => r.record) : []), ...queued.filter(r => r.kind === 'entry')]
        .filter(r => !struck.has(r.id)).map(r => r.content)
}
