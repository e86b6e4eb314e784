// SPDX-License-Identifier: GPL-3.0-or-later
// Footfalls by two thumbs (or the keys F and J), with the strip of steps growing as they come. The times go to `steps`; the
// strip here only shows what was tapped.
import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { compute } from "./api.ts";
import { Press, Table, Wrong } from "./bones.tsx";
import type { Side } from "./contract.ts";
import { number } from "./units.ts";

export interface Tap {
    t: number;
    side: "L" | "R";
}
export const tapsCsv = (taps: Tap[]): string => `time_s,side\n${taps.map((tap) => `${(tap.t - taps[0].t).toFixed(3)},${tap.side}`).join("\n")}\n`;

interface Steps {
    steps: number;
    strides: number;
    step_time_s: { left: number | null; right: number | null } | null;
    symmetry: { ratio: number; index_percent: number; order?: string } | null;
    cv_percent: { left: number | null; right: number | null } | null;
    odd_steps: { index: number; time_s: number; side: string; value_s: number; robust_z: number }[];
    notes: string[];
}

/** The last steps as bars: length is step time, left above the line, right below; a missed step leaves a gap. */
function Strip(props: { taps: Tap[]; odd: Set<number> }): JSX.Element {
    const shown = props.taps.slice(-26);
    const first = props.taps.length - shown.length;
    const bars = shown.slice(1).map((tap, place) => ({ side: tap.side, took: tap.t - shown[place].t, twice: tap.side === shown[place].side, index: first + place + 1 }));
    return (
        <svg class="strip" viewBox="0 0 500 90" role="img" aria-label={`${props.taps.length} footfalls tapped`}>
            <line x1="0" x2="500" y1="45" y2="45" />
            {bars.map((bar, place) => {
                const height = Math.min(42, bar.took * 50);
                return (
                    <rect
                        key={bar.index}
                        class={bar.twice ? "gap" : props.odd.has(bar.index) ? "odd" : ""}
                        x={place * 20 + 2}
                        width="14"
                        y={bar.side === "L" ? 45 - height : 45}
                        height={height}
                    />
                );
            })}
        </svg>
    );
}

export function TapPad(props: { side: Side; onTaps?: (taps: Tap[]) => void }): JSX.Element {
    const [taps, setTaps] = useState<Tap[]>([]);
    const [result, setResult] = useState<Steps | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const pad = useRef<HTMLDivElement>(null);
    const tap = (side: "L" | "R", at: number): void => {
        setTaps((now) => [...now, { t: at / 1000, side }]);
    };
    useEffect(() => {
        const key = (event: KeyboardEvent): void => {
            if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || !pad.current?.contains(document.activeElement)) return;
            if (event.key === "f" || event.key === "F") tap("L", event.timeStamp);
            if (event.key === "j" || event.key === "J") tap("R", event.timeStamp);
        };
        addEventListener("keydown", key);
        return () => removeEventListener("keydown", key);
    }, []);
    useEffect(() => {
        props.onTaps?.(taps);
        if (taps.length < 4) return setResult(null);
        const quit = new AbortController();
        const timer = setTimeout(() => {
            compute<Steps>("steps", { csv: tapsCsv(taps), options: { taps: true, prosthetic: props.side === "left" ? "L" : "R" } }, quit.signal).then(
                (next) => {
                    if (quit.signal.aborted) return;
                    setResult(next);
                    setProblem(null);
                },
                (wrong) => !quit.signal.aborted && setProblem(wrong),
            );
        }, 400);
        return () => {
            clearTimeout(timer);
            quit.abort();
        };
    }, [taps]);
    const odd = new Set((result?.odd_steps ?? []).map((one) => one.index));
    return (
        <section class="tap-pad" aria-label="Tap pad for footfalls" ref={pad}>
            <div class="feet">
                {(["L", "R"] as const).map((side) => (
                    <button
                        key={side}
                        type="button"
                        class="press foot"
                        onPointerDown={(event) => {
                            event.preventDefault();
                            event.currentTarget.focus();
                            tap(side, event.timeStamp);
                        }}
                        onKeyDown={(event) => {
                            if (event.key === "Enter" || event.key === " ") tap(side, event.timeStamp);
                        }}
                    >
                        {side === "L" ? "Left" : "Right"}
                        <small>{(side === "L") === (props.side === "left") ? "prosthetic" : "sound"}</small>
                    </button>
                ))}
            </div>
            <p class="note">Tap at each foot's contact, or the keys F and J with a foot chosen.</p>
            <Strip taps={taps} odd={odd} />
            <Wrong problem={problem} />
            {result && (
                <Table
                    caption={`${result.steps} steps; timing never grades an alignment`}
                    heads={["", "Left", "Right"]}
                    rows={[
                        ["step time, middle", `${number(result.step_time_s?.left, "s")} s`, `${number(result.step_time_s?.right, "s")} s`],
                        ["prosthetic over sound", number(result.symmetry?.ratio, "none"), ""],
                    ]}
                />
            )}
            <div class="keys">
                <Press off={taps.length === 0} onPress={() => setTaps(taps.slice(0, -1))}>
                    Take back one
                </Press>
                <Press off={taps.length === 0} onPress={() => setTaps([])}>
                    Begin again
                </Press>
            </div>
        </section>
    );
}
