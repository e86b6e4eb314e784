// SPDX-License-Identifier: GPL-3.0-or-later
// The scan with its two edges over it, to zoom into and to tap a pen mark on. Angles are picture angles: counter-clockwise
// from the right, about the middle of the bore.
import type { ComponentChildren, JSX } from "preact";
import { useRef, useState } from "preact/hooks";
import { Press } from "./bones.tsx";
import type { RingOutline } from "./contract.ts";

export type Mark = "posterior" | "outward";

const centre = (points: [number, number][]): [number, number] => {
    let area = 0;
    let x = 0;
    let y = 0;
    points.forEach(([ax, ay], place) => {
        const [bx, by] = points[(place + 1) % points.length];
        const cross = ax * by - bx * ay;
        area += cross;
        x += (ax + bx) * cross;
        y += (ay + by) * cross;
    });
    return [x / (3 * area), y / (3 * area)];
};

export function RingPicture(props: { address: string; outline: RingOutline | null; marking: Mark | null; posterior: number | null; children?: ComponentChildren; onTap: (angle_deg: number) => void }): JSX.Element {
    const { outline } = props;
    const [zoom, setZoom] = useState(1);
    const [seen, setSeen] = useState(true);
    const [shift, setShift] = useState<[number, number]>([0, 0]);
    const drag = useRef<{ x: number; y: number; from: [number, number]; moved: boolean } | null>(null);
    const picture = useRef<SVGSVGElement>(null);
    if (!outline || outline.inner_mm.length < 3) return <p role="status">Fetching the picture…</p>;
    const { width_px: width, height_px: height } = outline;
    const perMm = outline.dpi / 25.4;
    const point = ([x, y]: [number, number]): string => `${(x * perMm).toFixed(1)},${(height - y * perMm).toFixed(1)}`;
    const line = (points: [number, number][]): string => (points.length > 0 ? `M${points.map(point).join("L")}Z` : "");
    const [cx, cy] = centre(outline.inner_mm);
    const middle: [number, number] = [cx * perMm, height - cy * perMm];
    const reach = Math.max(...outline.outer_mm.map(([x, y]) => Math.hypot(x - cx, y - cy))) * perMm * 1.25;
    const size = (2 * reach) / zoom;
    const left = middle[0] + shift[0] - size / 2;
    const top = middle[1] + shift[1] - size / 2;
    const toPicture = (event: { clientX: number; clientY: number }): [number, number] | null => {
        const matrix = picture.current?.getScreenCTM();
        if (!matrix) return null;
        const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
        return [at.x, at.y];
    };
    const ray = (angle: number): string => {
        const radians = (angle * Math.PI) / 180;
        return `M${middle[0]},${middle[1]}L${middle[0] + reach * Math.cos(radians)},${middle[1] - reach * Math.sin(radians)}`;
    };
    return (
        <div class="scan">
            <div class="keys small">
                {props.children}
                <Press label="Larger" onPress={() => setZoom(Math.min(16, zoom * 1.6))}>
                    +
                </Press>
                <Press
                    label="Smaller"
                    off={zoom === 1}
                    onPress={() => {
                        const next = Math.max(1, zoom / 1.6);
                        setZoom(next < 1.01 ? 1 : next);
                        if (next < 1.01) setShift([0, 0]);
                    }}
                >
                    −
                </Press>
                <Press pressed={seen} onPress={() => setSeen(!seen)}>
                    Edges
                </Press>
            </div>
            <svg
                ref={picture}
                viewBox={`${left} ${top} ${size} ${size}`}
                role="img"
                aria-label={props.marking ? `The scan; tap the ${props.marking === "posterior" ? "posterior line" : "outward dot"}` : "The scan of the ring with its edges"}
                class={props.marking ? "marking" : ""}
                onPointerDown={(event) => {
                    drag.current = { x: event.clientX, y: event.clientY, from: shift, moved: false };
                    event.currentTarget.setPointerCapture(event.pointerId);
                }}
                onPointerMove={(event) => {
                    const start = drag.current;
                    if (!start) return;
                    const dx = event.clientX - start.x;
                    const dy = event.clientY - start.y;
                    if (Math.hypot(dx, dy) > 8) start.moved = true;
                    if (!start.moved || zoom === 1) return;
                    const scale = size / event.currentTarget.getBoundingClientRect().width;
                    setShift([start.from[0] - dx * scale, start.from[1] - dy * scale]);
                }}
                onPointerUp={(event) => {
                    const start = drag.current;
                    drag.current = null;
                    if (!start || start.moved || !props.marking) return;
                    const at = toPicture(event);
                    if (!at) return;
                    const angle = (Math.atan2(middle[1] - at[1], at[0] - middle[0]) * 180) / Math.PI;
                    props.onTap((angle + 360) % 360);
                }}
            >
                <image href={props.address} x={0} y={0} width={width} height={height} preserveAspectRatio="none" />
                {seen && (
                    <g class="edges">
                        <path d={line(outline.outer_mm)} />
                        <path d={line(outline.inner_mm)} />
                        {outline.voids_mm.map((one, place) => (
                            <path key={place} class="void" d={line(one)} />
                        ))}
                        {outline.unjoined_mm.length > 1 && <path class="unjoined" d={`M${outline.unjoined_mm.map(point).join("L")}`} />}
                    </g>
                )}
                {props.posterior !== null && <path class="posterior" d={ray(props.posterior)} />}
            </svg>
        </div>
    );
}
