// SPDX-License-Identifier: GPL-3.0-or-later
// The parts that every view is made of. Each one brings its own keyboard path, its size for a thumb and its words.
import { Component, type ComponentChildren, type JSX } from "preact";
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { drawing, NoNetwork, Refusal } from "./api.ts";
import type { StageState } from "./contract.ts";
import { fromShown, measureOf, read, toShown, typed, unitOf, worded, type Measure } from "./units.ts";

/** What went wrong, in the server's own words, and what to do about it. Read aloud when it appears. */
export function Wrong(props: { problem: unknown }): JSX.Element | null {
    const { problem } = props;
    if (!problem) return null;
    if (problem instanceof NoNetwork) {
        return (
            <div class="wrong" role="alert">
                <strong>No answer from the server.</strong> Nothing was changed there. Try again when the network is back.
            </div>
        );
    }
    const refusal = problem instanceof Refusal ? problem : null;
    return (
        <div class="wrong" role="alert">
            <strong>{worded(refusal ? refusal.what : String((problem as Error).message ?? problem))}</strong> {refusal?.mend}
            {refusal && refusal.problems.length > 1 && (
                <ul>
                    {refusal.problems.map((one) => (
                        <li key={one.field + one.what}>
                            {one.field.replace(/^document\./, "")}: {worded(one.what)}
                        </li>
                    ))}
                </ul>
            )}
        </div>
    );
}

export function Press(props: {
    onPress: () => void;
    children: ComponentChildren;
    kind?: "first" | "plain" | "grave";
    off?: boolean;
    label?: string;
    pressed?: boolean;
    id?: string;
}): JSX.Element {
    return (
        <button
            type="button"
            id={props.id}
            class={`press ${props.kind ?? "plain"}`}
            disabled={props.off}
            aria-label={props.label}
            aria-pressed={props.pressed}
            onClick={props.onPress}
        >
            {props.children}
        </button>
    );
}

const stateWords: Record<StageState, string> = { done: "done", open: "open", shut: "shut", again: "again" };
/** A stage's state: shape and word first, colour last. */
export function StateMark(props: { state: StageState; bare?: boolean }): JSX.Element {
    const { state } = props;
    return (
        <span class={`state ${state}`}>
            <svg viewBox="0 0 20 20" width="20" height="20" aria-hidden="true">
                {state === "done" && <path d="M2 2h16v16H2z M5 10l4 4 6-8" />}
                {state === "open" && <path d="M2 2h16v16H2z" />}
                {state === "shut" && <path d="M2 2h16v16H2z M2 8l6-6 M2 14L14 2 M4 18L18 4 M10 18l8-8 M16 18l2-2" />}
                {state === "again" && <path d="M2 2h16v16H2z M14 7a5 5 0 1 0 1 4 M14 3v4h-4" />}
            </svg>
            {props.bare ? <span class="unseen">{stateWords[state]}</span> : stateWords[state]}
        </span>
    );
}

const decisionShapes: Record<string, string> = {
    accept: "M2 12l7 7L22 4",
    "accept-with-limit": "M2 12l7 7L22 4 M2 22h20",
    "measure-again": "M20 9a9 9 0 1 0 1 5 M20 2v7h-7",
    reject: "M3 3l18 18 M21 3L3 21",
};
const decisionTitles: Record<string, string> = {
    accept: "Accept",
    "accept-with-limit": "Accept with limit",
    "measure-again": "Measure again",
    reject: "Reject",
};
export const decisionWord = (decision: string | null): string => (decision ? (decisionTitles[decision] ?? decision) : "no decision");
export function DecisionMark(props: { decision: string | null; large?: boolean }): JSX.Element {
    const size = props.large ? 40 : 20;
    return (
        <span class={`decision ${props.decision ?? "none"} ${props.large ? "large" : ""}`}>
            <svg viewBox="0 0 24 24" width={size} height={size} aria-hidden="true">
                <path d={decisionShapes[props.decision ?? ""] ?? "M4 12h16"} />
            </svg>
            {decisionWord(props.decision)}
        </span>
    );
}

/** A large number with its unit, and the limit beside it. */
export function Figure(props: { words: string; value: string; beside?: ComponentChildren; state?: "in" | "out" | null }): JSX.Element {
    return (
        <div class={`figure ${props.state ?? ""}`}>
            <dt>{props.words}</dt>
            <dd>
                <span class="value">{props.value}</span>
                {props.beside && <span class="beside">{props.beside}</span>}
            </dd>
        </div>
    );
}

/** A number with thumb keys; the keyboard, a caliper that types and a fraction of an inch go in as well. */
export function NumberField(props: {
    words: string;
    value: number | null | undefined;
    measure?: Measure;
    name?: string;
    step?: number;
    low?: number | null;
    high?: number | null;
    note?: string;
    required?: boolean;
    onValue: (value: number | null) => void;
    autofocus?: boolean;
}): JSX.Element {
    const id = useId();
    const measure = props.measure ?? measureOf(props.name ?? "");
    const [text, setText] = useState(typed(props.value, measure));
    const [bad, setBad] = useState("");
    const own = useRef(props.value);
    const box = useRef<HTMLInputElement>(null);
    useEffect(() => {
        if (props.value === own.current && text !== "") return;
        own.current = props.value;
        setText(typed(props.value, measure));
        setBad("");
    }, [props.value, measure, unitOf(measure)]);
    useEffect(() => {
        if (props.autofocus) box.current?.focus();
    }, []);
    const limits = (value: number): string => {
        const low = props.low ?? -Infinity;
        const high = props.high ?? Infinity;
        if (value >= low && value <= high) return "";
        const from = low === -Infinity ? "" : `from ${typed(low, measure)} `;
        const up = high === Infinity ? "" : `to ${typed(high, measure)} `;
        return `${from}${up}${unitOf(measure)}`.trim();
    };
    const take = (next: string): void => {
        setText(next);
        if (next.trim() === "") {
            setBad("");
            own.current = null;
            props.onValue(null);
            return;
        }
        const value = read(next, measure);
        if (value === null) return setBad("a number, such as 6.2");
        const wanted = limits(value);
        setBad(wanted);
        if (wanted) return;
        own.current = value;
        props.onValue(value);
    };
    const nudge = (sign: number): void => {
        // In inches a sixteenth, or half a hundredth where the metric step is fine as well.
        const fine = props.step !== undefined && props.step < 1;
        const step = unitOf(measure) === "in" ? (fine ? 0.005 : 1 / 16) : (props.step ?? 1);
        const now = read(text, measure) ?? 0;
        const shown = toShown(now, measure) + sign * step;
        take(typed(fromShown(shown, measure), measure));
    };
    return (
        <div class={`field number ${bad ? "bad" : ""} ${props.required ? "needed" : ""}`}>
            <label for={id}>{props.words}</label>
            <div class="entry">
                <button type="button" class="nudge" aria-label={`${props.words}: less`} onClick={() => nudge(-1)}>
                    −
                </button>
                <input
                    ref={box}
                    id={id}
                    name={props.name}
                    inputMode="decimal"
                    autocomplete="off"
                    value={text}
                    aria-required={props.required}
                    aria-invalid={bad !== ""}
                    aria-describedby={`${id}n`}
                    onInput={(event) => take(event.currentTarget.value)}
                    onKeyDown={(event) => {
                        if (event.key === "ArrowUp" || event.key === "ArrowDown") {
                            event.preventDefault();
                            nudge(event.key === "ArrowUp" ? 1 : -1);
                        } else if (event.key === "Enter" && nextField(event.currentTarget)) event.preventDefault();
                    }}
                />
                <span class="unit">{unitOf(measure)}</span>
                <button type="button" class="nudge" aria-label={`${props.words}: more`} onClick={() => nudge(1)}>
                    +
                </button>
            </div>
            <span id={`${id}n`} class="note" aria-live="polite">
                {bad ? `Wanted: ${bad}` : (props.note ?? "")}
            </span>
        </div>
    );
}

/** A caliper that types ends its reading with Enter: on to the next entry of the form, if there is one. */
function nextField(here: HTMLInputElement): boolean {
    const form = here.closest("form");
    if (!form) return false;
    const all = Array.from(form.querySelectorAll<HTMLInputElement>("input:not([disabled]), textarea"));
    const next = all[all.indexOf(here) + 1];
    if (!next) return false;
    next.focus();
    next.select?.();
    return true;
}

export function TextField(props: {
    words: string;
    value: string;
    onValue: (value: string) => void;
    kind?: string;
    name?: string;
    note?: string;
    required?: boolean;
    long?: boolean;
    autocomplete?: string;
    max?: number;
}): JSX.Element {
    const id = useId();
    const shared = { id, "aria-required": props.required, name: props.name, value: props.value, maxLength: props.max, autocomplete: props.autocomplete ?? "off", "aria-describedby": `${id}n` };
    return (
        <div class={`field ${props.required ? "needed" : ""}`}>
            <label for={id}>{props.words}</label>
            {props.long ? (
                <textarea {...shared} rows={3} onInput={(event) => props.onValue(event.currentTarget.value)} />
            ) : (
                <input {...shared} type={props.kind ?? "text"} onInput={(event) => props.onValue(event.currentTarget.value)} />
            )}
            <span id={`${id}n`} class="note">
                {props.note ?? ""}
            </span>
        </div>
    );
}

/** One of a few words, each a target of its own; arrow keys move, as in any group of radios. */
export function Choice<T extends string>(props: {
    words: string;
    value: T | null | undefined;
    choices: { value: T; words: string }[];
    onValue: (value: T) => void;
    required?: boolean;
    note?: string;
}): JSX.Element {
    const id = useId();
    return (
        <fieldset class={`field choice ${props.required ? "needed" : ""}`}>
            <legend>{props.words}</legend>
            <div class="words">
                {props.choices.map((choice) => (
                    <label key={choice.value} class={props.value === choice.value ? "chosen" : ""}>
                        <input
                            type="radio"
                            name={id}
                            required={props.required}
                            checked={props.value === choice.value}
                            onChange={() => props.onValue(choice.value)}
                        />
                        <span>{choice.words}</span>
                    </label>
                ))}
            </div>
            {props.note && <span class="note">{props.note}</span>}
        </fieldset>
    );
}

export function Tick(props: { words: string; value: boolean; onValue: (value: boolean) => void }): JSX.Element {
    return (
        <label class={`tick ${props.value ? "chosen" : ""}`}>
            <input type="checkbox" checked={props.value} onChange={(event) => props.onValue(event.currentTarget.checked)} />
            <span>{props.words}</span>
        </label>
    );
}

/** A drawing made by the server, with its twin in words behind a fold. It is the same one that goes on paper. */
export function Drawing(props: { svg: string | null; alt: string; twin?: ComponentChildren; problem?: unknown; wide?: boolean }): JSX.Element {
    const [address, setAddress] = useState<string | null>(null);
    const [large, setLarge] = useState(false);
    useEffect(() => {
        if (props.svg === null) return setAddress(null);
        const next = URL.createObjectURL(new Blob([props.svg], { type: "image/svg+xml" }));
        setAddress(next);
        return () => URL.revokeObjectURL(next);
    }, [props.svg]);
    return (
        <figure class={`drawing ${props.wide ? "wide" : ""}`}>
            {large && address && (
                <Dialog title={props.alt} full onLeave={() => setLarge(false)}>
                    <Press onPress={() => setLarge(false)}>Close</Press>
                    <figure class="drawing">
                        <img src={address} alt="" />
                    </figure>
                </Dialog>
            )}
            {address && <Press onPress={() => setLarge(true)}>Larger</Press>}
            {address ? (
                <img src={address} alt={props.alt} />
            ) : (
                <div class="blank" role="status">
                    {props.problem ? <Wrong problem={props.problem} /> : "Drawing…"}
                </div>
            )}
            {props.twin && (
                <details>
                    <summary>In words and figures</summary>
                    {props.twin}
                </details>
            )}
        </figure>
    );
}

/** Fetches a drawing anew whenever what it is made of changes; the old one stays until the new one is there. */
export function useDrawing(path: string | null, body?: unknown): { svg: string | null; problem: unknown } {
    const [svg, setSvg] = useState<string | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const key = path === null ? null : path + JSON.stringify(body ?? null);
    useEffect(() => {
        if (path === null) return setSvg(null);
        const quit = new AbortController();
        drawing(path, body, quit.signal).then(
            (text) => {
                if (quit.signal.aborted) return;
                setSvg(text);
                setProblem(null);
            },
            (wrong) => {
                if (!quit.signal.aborted) setProblem(wrong);
            },
        );
        return () => quit.abort();
    }, [key]);
    return { svg, problem };
}

export function Table(props: { caption: string; heads: string[]; rows: ComponentChildren[][] }): JSX.Element {
    return (
        <div class="scroll" tabIndex={0} role="region" aria-label={props.caption}>
            <table>
                <caption>{props.caption}</caption>
                <thead>
                    <tr>
                        {props.heads.map((head) => (
                            <th key={head} scope="col">
                                {head || <span class="unseen">more</span>}
                            </th>
                        ))}
                    </tr>
                </thead>
                <tbody>
                    {props.rows.map((row, number) => (
                        <tr key={number}>
                            {row.map((cell, place) => (place === 0 ? <th key={place} scope="row">{cell}</th> : <td key={place}>{cell}</td>))}
                        </tr>
                    ))}
                </tbody>
            </table>
        </div>
    );
}

/** A dialog that holds the keyboard until it is left; Escape leaves it. */
export function Dialog(props: { title: string; onLeave: () => void; children: ComponentChildren; full?: boolean }): JSX.Element {
    const box = useRef<HTMLDialogElement>(null);
    useEffect(() => {
        box.current?.showModal();
        return () => box.current?.close();
    }, []);
    return (
        <dialog
            ref={box}
            class={props.full ? "full" : ""}
            aria-label={props.title}
            onCancel={(event) => {
                event.preventDefault();
                props.onLeave();
            }}
        >
            <h2>{props.title}</h2>
            {props.children}
        </dialog>
    );
}

export function Safety(props: { words: string | null | undefined }): JSX.Element | null {
    return props.words ? <p class="safety">{props.words}</p> : null;
}

/** What stands below every computed result: what was assumed, what was not computed, and the safety sentence. */
export function Caveats(props: { of: { assumptions?: string[]; notes?: string[]; safety?: string | null } }): JSX.Element {
    const lines = [...(props.of.assumptions ?? []), ...(props.of.notes ?? [])];
    return (
        <>
            {lines.length > 0 && (
                <details>
                    <summary>Assumed, and not computed</summary>
                    <ul>
                        {lines.map((line) => (
                            <li key={line}>{worded(line)}</li>
                        ))}
                    </ul>
                </details>
            )}
            <Safety words={props.of.safety} />
        </>
    );
}

/** Loads once, and again whenever `key` changes. */
export function useLoad<T>(load: (signal: AbortSignal) => Promise<T>, key: string): { value: T | null; problem: unknown; again: () => void } {
    const [value, setValue] = useState<T | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const [round, setRound] = useState(0);
    useEffect(() => {
        const quit = new AbortController();
        load(quit.signal).then(
            (next) => {
                if (quit.signal.aborted) return;
                setValue(next);
                setProblem(null);
            },
            (wrong) => {
                if (!quit.signal.aborted) setProblem(wrong);
            },
        );
        return () => quit.abort();
    }, [key, round]);
    return { value, problem, again: () => setRound((now) => now + 1) };
}

/** A view that stumbles over what it was given says so, and leaves the rest of the sheet in use. */
export class Guard extends Component<{ children: ComponentChildren }, { problem: Error | null }> {
    state = { problem: null as Error | null };
    componentDidCatch(problem: Error): void {
        console.error(problem);
        this.setState({ problem });
    }
    render(): ComponentChildren {
        if (!this.state.problem) return this.props.children;
        return (
            <div class="wrong" role="alert">
                <strong>This part of the page could not be shown.</strong> What is written down is not touched. Load the page again; if it stays so, tell who looks after the program: {this.state.problem.message}
            </div>
        );
    }
}
