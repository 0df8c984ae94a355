// build.mjs FOLDER: the page as files that the program embeds: one script, one style, each also compressed.
import {build} from 'esbuild'
import {copyFileSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync} from 'node:fs'
import {gzipSync} from 'node:zlib'

const folder = process.argv[2] ?? '../build-page'
rmSync(folder, {recursive: true, force: true})
mkdirSync(folder, {recursive: true})
const shared = {bundle: true, minify: true, format: 'esm', target: 'es2021', legalComments: 'none', charset: 'utf8'}
await build({...shared, entryPoints: {app: 'src/main.tsx'}, outdir: folder, jsx: 'automatic', jsxImportSource: 'preact'})
await build({...shared, entryPoints: {worker: 'src/worker.ts'}, outdir: folder, format: 'iife'})
for (const name of ['index.html', 'style.css', 'icon.svg', 'manifest.webmanifest']) copyFileSync(name, `${folder}/${name}`)
let total = 0
for (const name of readdirSync(folder)) {
    const packed = gzipSync(readFileSync(`${folder}/${name}`), {level: 9})
    total += packed.length
    writeFileSync(`${folder}/${name}.gz`, packed)
}
console.log(`page: ${(total / 1000).toFixed(1)} kB compressed`)
if (total > 150000) throw new Error('the page is larger than 150 kB')
