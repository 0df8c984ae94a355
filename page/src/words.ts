// words.ts: what the page says, in the reader's language, and figures as the reader writes them.

import en from '../words/en.json'
import es from '../words/es.json'
import recordEs from '../words/record/es.json'

export type Word = keyof typeof en
const languages: Record<string, Record<Word, string>> = {en, es}

const chosen = (name: string, otherwise: string) => localStorage.getItem(name) ?? otherwise
export const language = (): string => chosen('language', navigator.language.startsWith('es') ? 'es' : 'en')
export const degrees = (): 'F' | 'C' => chosen('degrees', 'F') === 'C' ? 'C' : 'F'
export const theme = (): string => chosen('theme', 'system')

export function choose(name: 'language' | 'degrees' | 'theme', value: string): void {
    localStorage.setItem(name, value)
    dress()
}

/** Language and theme onto the document, for the reader's aids and the style sheet. */
export function dress(): void {
    document.documentElement.lang = language()
    document.documentElement.dataset['theme'] = theme()
}

export function say(word: Word, values: Record<string, string | number> = {}): string {
    const text = (languages[language()] ?? en)[word]
    return text.replace(/\{(\w+)\}/g, (_, name: string) => String(values[name] ?? ''))
}

export const percent = (share: number): string =>
    share > 0 && share < 0.01 ? '< 1 %' : share > 0.99 && share < 1 ? '> 99 %' : `${Math.round(100 * share)} %`

export const money = (minor: number, currency: string): string =>
    new Intl.NumberFormat(language(), {style: 'currency', currency, maximumFractionDigits: 0}).format(minor / 100)

export const clock = (at: string): string =>
    new Date(at).toLocaleString(language(), {month: 'short', day: 'numeric', hour: '2-digit', minute: '2-digit'})

/** The words of a record, as a call file has them, in languages that have others; in English they stand for themselves. */
const ofRecords: Record<string, Record<string, string>> = {es: recordEs}

/** What stands behind these somebody wrote freely. */
const FREE = new Set(['note', 'call', 'title', 'why'])

/** A content as people read it: `look: bake-element, sees: dark`. */
export function plain(content: Record<string, unknown>, called: Record<string, string> = {}): string {
    const words = ofRecords[language()] ?? {}
    const value = (v: unknown): string => Array.isArray(v) ? v.map(value).join(', ')
        : v !== null && typeof v === 'object' ? plain(v as Record<string, unknown>, called) : called[String(v)] ?? words[String(v)] ?? String(v)
    return Object.entries(content).map(([key, v]) => `${words[key] ?? key}: ${FREE.has(key) ? String(v) : value(v)}`).join(', ')
}

/** A question to the server, to be answered in the reader's language and degrees. */
export const spoken = (path: string): string =>
    `${path}${path.includes('?') ? '&' : '?'}language=${language()}&degrees=${degrees() === 'C' ? 'celsius' : 'fahrenheit'}`
