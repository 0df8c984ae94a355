// keep.ts: what stays on the device: records that wait to be sent, and answers to look at without a connection.

const opened = new Promise<IDBDatabase>((resolve, reject) => {
    const asked = indexedDB.open('ovenwright', 1)
    asked.onupgradeneeded = () => {
        asked.result.createObjectStore('waiting', {keyPath: 'number', autoIncrement: true})
        asked.result.createObjectStore('seen')
    }
    asked.onsuccess = () => resolve(asked.result)
    asked.onerror = () => reject(asked.error ?? new Error('no place to keep anything'))
})

async function run<T>(store: 'waiting' | 'seen', mode: IDBTransactionMode, work: (s: IDBObjectStore) => IDBRequest<T>): Promise<T> {
    const database = await opened
    return new Promise((resolve, reject) => {
        const transaction = database.transaction(store, mode, {durability: 'strict'})
        const asked = work(transaction.objectStore(store))
        transaction.oncomplete = () => resolve(asked.result)
        transaction.onabort = transaction.onerror = () => reject(transaction.error ?? new Error('not kept'))
    })
}

/** A record on its way: its line as the server takes it, and bytes that go before it. */
export interface Waiting { number?: number, call: string, line: string, bytes?: Blob, refused?: string }

export const addWaiting = (waiting: Waiting) => run('waiting', 'readwrite', s => s.add(waiting))
export const putWaiting = (waiting: Waiting) => run('waiting', 'readwrite', s => s.put(waiting))
export const dropWaiting = (number: number) => run('waiting', 'readwrite', s => s.delete(number))
export const allWaiting = (): Promise<Waiting[]> => run('waiting', 'readonly', s => s.getAll())

export const keepSeen = (path: string, answer: unknown) => run('seen', 'readwrite', s => s.put(answer, path))
export const lastSeen = (path: string): Promise<unknown> => run('seen', 'readonly', s => s.get(path))
