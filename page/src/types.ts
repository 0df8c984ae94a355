// types.ts: what the server answers (doc/openapi.json, doc/interface.md), as far as the page reads it.

export type Right = 'anybody' | 'apprentice' | 'technician' | 'office'
export interface Session { name: string, right: Right }

export interface CallOfList {
    call: string, title: string, appliance: string, by: string, phase: 'open' | 'closed' | 'reopened' | '-'
    opened: string, changed: string, records: number, contradictions: number
}

export type Kind = 'opened' | 'changed' | 'entry' | 'struck' | 'closed' | 'reopened'
export type Content = Record<string, unknown>
export interface CallRecord {
    id: string, call: string, at: string, by: string, device: string, kind: Kind, content: Content
    subject?: string, strikes?: string, attachment?: string
}
export interface Numbered { number: number, struck: boolean, record: CallRecord }
export interface Trail {
    call: string, phase: string, records: Numbered[]
    contradictions: {contradiction: string, first: number, second: number}[]
}

export interface Asks { entry: Content, measure?: 'ohm' | 'volt' | 'amp', sees?: string[], among?: string, parts?: {part: string, sees: string[]}[] }
export interface Outcome { chance: number, leads: string, probability: number, expected_minor: number, text: string }
export interface Step {
    step: string, kind: 'check' | 'repeat' | 'repair' | 'prove' | 'close' | 'hand-over', role: 'proposed' | 'then' | 'instead'
    minutes: number, cost_minor: number, power: 'on' | 'off' | 'any', live_work: boolean, proved_dead_first: boolean
    second_visit: boolean, text: string, before: string, why: string, outcomes: Outcome[], shared: string[]
    expected_total_minor: number, asks: Asks | null, opens: string[], repeats: number
}
export interface Suspect { fault: string, part: string, probability: number, says?: string, factors?: {entry: number, factor: number}[] }
export interface Advice {
    appliance: string, suspects: Suspect[], unlisted: {suspects: number, probability: number}, nothing_wrong: number, steps: Step[], done: boolean, verdict: string, verdict_text: string
    warnings: {warning: string, fault: string, probability: number, text: string}[]
    contradictions: {entries: number[], text: string}[]
    not_weighed: number[], currency: string
    before_visit: null | {questions: Step[], parts: {part: string, probability: number, saves_minor: number, carry: boolean}[]}
}

export interface ApplianceOfList { appliance: string, says: string, glance: {control: 'knob' | 'keypad', bake_hidden: boolean, volt: number} }
export interface Appliance {
    appliance: string, says: string, supply: {volt: number, legs: string[]}
    parts: {part: string, kind: string, says: string | null, place: string, sees: string[], ratings?: {branch: string, from: string, to: string, watt: number, cold_ohm: number, ampere: number}[]}[]
    marks: {mark: string, part: string, place: string, can_lift: boolean}[]
    functions: {function: string, says: string | null}[]
    complaints: {complaint: string, says: string | null}[], looks: {look: string, says: string | null}[]
    called: Record<string, string>
}
export interface Refusal { found: string, expected: string, hint: string, record: number, line?: number }
