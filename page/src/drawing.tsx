// drawing.tsx: a drawing in a frame of its own, made larger by two fingers, by buttons, or by keys.
//
// One finger scrolls as everywhere; two fingers that move apart enlarge what lies between them; a double tap shows all again.

import {useEffect, useLayoutEffect, useRef, useState} from 'preact/hooks'
import {say} from './words'

const most = 4

/** What stays where it is while the drawing grows: a place on it, in shares of it, and in pixels of the frame. */
interface Held { share: [number, number], pixel: [number, number] }

const between = (t: TouchList): [number, number] => [((t[0]?.clientX ?? 0) + (t[1]?.clientX ?? 0)) / 2, ((t[0]?.clientY ?? 0) + (t[1]?.clientY ?? 0)) / 2]
const apart = (t: TouchList): number => Math.hypot((t[0]?.clientX ?? 0) - (t[1]?.clientX ?? 0), (t[0]?.clientY ?? 0) - (t[1]?.clientY ?? 0))
const within = (scale: number): number => Math.min(most, Math.max(1, scale))

/** `from`: how many times the frame's width it is at first; `says`: what a reader who does not see it is told. */
export function Drawing(p: {path: string, label: string, says?: string, from?: number}) {
    const frame = useRef<HTMLDivElement>(null)
    const image = useRef<HTMLImageElement>(null)
    const held = useRef<Held | null>(null)
    const now = useRef(1)
    const [scale, setScale] = useState(p.from ?? 1)
    now.current = scale

    const hold = (x: number, y: number) => {
        if (!frame.current || !image.current) return
        const box = frame.current.getBoundingClientRect(), drawn = image.current.getBoundingClientRect()
        held.current = {share: [(x - drawn.left) / drawn.width, (y - drawn.top) / drawn.height], pixel: [x - box.left, y - box.top]}
    }
    const turn = (factor: number) => {
        const box = frame.current?.getBoundingClientRect()
        if (box) hold(box.left + box.width / 2, box.top + box.height / 2)
        setScale(s => within(s * factor))
    }
    useLayoutEffect(() => {
        const at = held.current
        if (!at || !frame.current || !image.current) return
        frame.current.scrollLeft = at.share[0] * image.current.clientWidth - at.pixel[0]
        frame.current.scrollTop = at.share[1] * image.current.clientHeight - at.pixel[1]
    }, [scale])
    // a listener that may stop the page from being zoomed instead must not be passive, which is what JSX would make it
    useEffect(() => {
        const element = frame.current
        if (!element) return
        let before = 0, first = 1
        const start = (e: TouchEvent) => { if (e.touches.length === 2) { before = apart(e.touches); first = now.current; hold(...between(e.touches)) } }
        const move = (e: TouchEvent) => {
            if (e.touches.length !== 2 || before <= 0) return
            if (e.cancelable) e.preventDefault()
            setScale(within(first * apart(e.touches) / before))
        }
        const end = () => { before = 0 }
        element.addEventListener('touchstart', start, {passive: true})
        element.addEventListener('touchmove', move, {passive: false})
        element.addEventListener('touchend', end)
        element.addEventListener('touchcancel', end)
        return () => {
            element.removeEventListener('touchstart', start)
            element.removeEventListener('touchmove', move)
            element.removeEventListener('touchend', end)
            element.removeEventListener('touchcancel', end)
        }
    }, [])
    return <>
        <div class="choices">
            <button type="button" aria-label={say('larger')} disabled={scale >= most} onClick={() => turn(1.4)}>+</button>
            <button type="button" aria-label={say('smaller')} disabled={scale <= 1} onClick={() => turn(1 / 1.4)}>−</button>
        </div>
        <div class="drawing pinched" ref={frame} tabIndex={0} role="region" aria-label={p.label}
            onDblClick={() => { held.current = null; setScale(1) }}>
            <img ref={image} src={p.path} alt={p.says ?? p.label} style={{width: `${scale * 100}%`}} />
        </div>
    </>
}
