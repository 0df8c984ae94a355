// worker.ts: the page's own files without a connection. Answers of the server are not its business.

const worker = self as unknown as ServiceWorkerGlobalScope
const files = ['/', '/app.js', '/style.css', '/icon.svg', '/manifest.webmanifest']
const shelf = 'page-1'

worker.addEventListener('install', event => {
    event.waitUntil(caches.open(shelf).then(cache => cache.addAll(files)).then(() => worker.skipWaiting()))
})
worker.addEventListener('activate', event => event.waitUntil(worker.clients.claim()))

/** The newest that can be had: from the server, else what was kept. */
async function answer(request: Request): Promise<Response> {
    const cache = await caches.open(shelf)
    try {
        const fresh = await fetch(request)
        if (fresh.ok) await cache.put(request, fresh.clone())
        return fresh
    } catch (error) {
        const kept = await cache.match(request, {ignoreSearch: true})
        if (kept) return kept
        throw error
    }
}

worker.addEventListener('fetch', event => {
    const path = new URL(event.request.url).pathname
    if (event.request.method === 'GET' && files.includes(path)) event.respondWith(answer(event.request))
})

export {}
