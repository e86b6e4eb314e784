// SPDX-License-Identifier: GPL-3.0-or-later
// Writing a fact down, of any kind, at any time: the form comes from the rules, what the limb's file already knows stands in
// it, and what loses the network is kept and sent later.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { Choice, NumberField, Press, TextField, Wrong } from "./bones.tsx";
import type { Fact, Json, LimbDocument } from "./contract.ts";
import { valueAt, type Desk } from "./limb_desk.ts";
import { plain, said, type FactField, type FactKind } from "./rules.ts";
import { may } from "./session.ts";
import { measureOf, measureOfUnit, moment, typed, unitOf } from "./units.ts";

type Body = { [key: string]: Json };

/** What the file already says of a field that goes into it. */
function known(document: LimbDocument, field: FactField): Json | undefined {
    if (!field.into || field.into.includes("[]")) return undefined;
    const value = valueAt(document, field.into.split("."));
    return value === null || typeof value === "object" ? undefined : (value as Json);
}

export function beginning(document: LimbDocument, kind: FactKind): Body {
    const body: Body = {};
    for (const field of kind.fields) {
        const value = known(document, field);
        if (value !== undefined) body[field.name] = value;
        if (field.type === "date") body[field.name] = new Date().toISOString().slice(0, 10);
    }
    return body;
}

export const missing = (kind: FactKind, body: Body): string[] =>
    kind.fields.filter((field) => field.required && (body[field.name] === undefined || body[field.name] === null || body[field.name] === "")).map((field) => field.words);

/** One field by its type. */
export function FactEntry(props: { field: FactField; value: Json | undefined; onValue: (value: Json | undefined) => void; first?: boolean }): JSX.Element | null {
    const { field, value, onValue } = props;
    const words = field.words.charAt(0).toUpperCase() + field.words.slice(1);
    switch (field.type) {
        case "number":
            return (
                <NumberField
                    words={words}
                    name={field.name}
                    measure={measureOfUnit(field.unit, field.name)}
                    value={value as number | undefined}
                    low={field.low}
                    high={field.high}
                    required={field.required}
                    note={field.unit === "ply" ? "ply" : undefined}
                    onValue={(next) => onValue(next ?? undefined)}
                />
            );
        case "word":
            return (
                <Choice
                    words={words}
                    value={value as string | undefined}
                    choices={field.choices.map((word) => ({ value: word, words: plain(word) }))}
                    required={field.required}
                    onValue={onValue}
                />
            );
        case "flag":
            return (
                <Choice
                    words={words}
                    value={value === true ? "yes" : value === false ? "no" : undefined}
                    choices={[
                        { value: "yes", words: "yes" },
                        { value: "no", words: "no" },
                    ]}
                    required={field.required}
                    onValue={(next) => onValue(next === "yes")}
                />
            );
        case "date":
            return <TextField words={words} kind="date" value={(value as string) ?? ""} required={field.required} onValue={(next) => onValue(next || undefined)} />;
        case "list":
            return <ListEntry field={field} value={(value as Body[]) ?? []} onValue={onValue} />;
        case "object":
            return (
                <fieldset class="group">
                    <legend>{words}</legend>
                    {field.fields.map((below) => (
                        <FactEntry
                            key={below.name}
                            field={below}
                            value={(value as Body | undefined)?.[below.name]}
                            onValue={(next) => {
                                const copy = { ...((value as Body) ?? {}) };
                                if (next === undefined) delete copy[below.name];
                                else copy[below.name] = next;
                                onValue(copy);
                            }}
                        />
                    ))}
                </fieldset>
            );
        case "text":
            return (
                <TextField
                    words={words}
                    value={(value as string) ?? ""}
                    required={field.required}
                    long={["reason", "seen", "what", "text", "note"].includes(field.name)}
                    onValue={(next) => onValue(next === "" ? undefined : next)}
                />
            );
        default:
            return null;
    }
}

function ListEntry(props: { field: FactField; value: Body[]; onValue: (value: Json) => void }): JSX.Element {
    const { field, value } = props;
    const put = (next: Body[]): void => props.onValue(next as Json);
    return (
        <fieldset class="group">
            <legend>{field.words}</legend>
            {value.map((row, place) => (
                <div class="row" key={place}>
                    {field.fields.map((below) => (
                        <FactEntry
                            key={below.name}
                            field={below}
                            value={row[below.name]}
                            onValue={(next) => put(value.map((one, number) => (number === place ? ({ ...one, [below.name]: next ?? null } as Body) : one)))}
                        />
                    ))}
                    <Press onPress={() => put(value.filter((_, number) => number !== place))}>Take out</Press>
                </div>
            ))}
            <Press onPress={() => put([...value, {}])}>Add one</Press>
        </fieldset>
    );
}

/** Which fact it is about: those that were done out of order, or the latest where none was. */
function FactChoice(props: { desk: Desk; field: FactField; value: number | undefined; onValue: (value: number) => void }): JSX.Element {
    const limb = props.desk.limb;
    const order = limb?.state.out_of_order ?? [];
    const facts = (limb?.facts ?? []).filter((fact) => fact.withdrawn_by === null && (order.length === 0 || order.includes(fact.id))).slice(-12);
    return (
        <Choice
            words={props.field.words}
            required={props.field.required}
            value={props.value === undefined ? undefined : String(props.value)}
            choices={facts.map((fact) => ({ value: String(fact.id), words: `${plain(fact.kind)}, ${moment(fact.happened_at)} ${fact.who?.initials ?? ""}` }))}
            onValue={(value) => props.onValue(Number(value))}
        />
    );
}

/** The whole form. `fixed` goes in without being shown, `hide` are fields that the view asks for elsewhere. */
export function FactForm(props: {
    desk: Desk;
    kind: FactKind;
    fixed?: Body;
    hide?: string[];
    begin?: Body;
    verb?: string;
    onDone?: (how: "sent" | "kept") => void;
    onLeave?: () => void;
}): JSX.Element | null {
    const { desk, kind } = props;
    const document = desk.limb?.document;
    // What was not touched follows the limb's file, should it be read anew while the form is open.
    const [touched, setTouched] = useState<{ [name: string]: Json | undefined }>({});
    const body = Object.fromEntries(Object.entries({ ...(document ? beginning(document, kind) : {}), ...props.begin, ...touched }).filter(([, value]) => value !== undefined)) as Body;
    const [when, setWhen] = useState("");
    const [problem, setProblem] = useState<unknown>(null);
    const [busy, setBusy] = useState(false);
    const [how, setHow] = useState<"sent" | "kept" | null>(null);
    if (!document) return null;
    const lacking = missing({ ...kind, fields: kind.fields.filter((field) => !props.hide?.includes(field.name) && props.fixed?.[field.name] === undefined) }, body);
    const put = async (): Promise<void> => {
        if (lacking.length > 0) {
            setProblem(new Error(`Still needed: ${lacking.join(", ")}.`));
            return;
        }
        setBusy(true);
        setProblem(null);
        try {
            const whole: Body = { ...body, ...props.fixed };
            const next = await desk.record(kind.kind, whole, `${kind.title}, ${document.person.label ?? "limb"}`, when ? new Date(when).toISOString() : undefined);
            setHow(next);
            props.onDone?.(next);
        } catch (wrong) {
            setProblem(wrong);
        } finally {
            setBusy(false);
        }
    };
    return (
        <form
            class="fact" noValidate
            onSubmit={(event) => {
                event.preventDefault();
                void put();
            }}
        >
            {kind.fields
                .filter((field) => !props.hide?.includes(field.name) && field.type === "whole")
                .map((field) => (
                    <FactChoice key={field.name} desk={desk} field={field} value={body[field.name] as number | undefined} onValue={(value) => setTouched((now) => ({ ...now, [field.name]: value }))} />
                ))}
            {kind.fields
                .filter((field) => !props.hide?.includes(field.name) && field.type !== "whole")
                .map((field) => (
                    <FactEntry
                        key={field.name}
                        field={field}
                        value={body[field.name]}
                        onValue={(value) => setTouched((now) => ({ ...now, [field.name]: value }))}
                    />
                ))}
            <details class="when">
                <summary>It happened earlier</summary>
                <TextField words="When" kind="datetime-local" value={when} onValue={setWhen} note="Left empty it is now." />
            </details>
            {kind.resets.length > 0 && <p class="note">This goes back to: {kind.resets.map(plain).join(", ")}.</p>}
            {kind.sign && <p class="note">To be signed by {kind.sign === "licensed" ? "a prosthetist with a licence" : `a ${plain(kind.sign)}`}.</p>}
            <Wrong problem={problem} />
            {how === "kept" && <p role="status">No network: kept on this device, sent when it comes back.</p>}
            <div class="keys">
                <button type="submit" class="press first" disabled={busy || !may(kind.record)}>
                    {props.verb ?? "Write it down"}
                </button>
                {props.onLeave && <Press onPress={props.onLeave}>Leave</Press>}
            </div>
        </form>
    );
}

/** What was written down, newest first. */
export function FactList(props: { facts: Fact[]; kinds: FactKind[]; empty: string; outOfOrder?: number[]; all?: Fact[]; onWithdraw?: (fact: Fact) => void; onSign?: (fact: Fact) => void }): JSX.Element {
    const facts = [...props.facts].sort((one, other) => (one.happened_at < other.happened_at ? 1 : -1));
    const signed = new Set((props.all ?? props.facts).filter((fact) => fact.kind === "signature" && fact.withdrawn_by === null).map((fact) => String(fact.body.fact)));
    if (facts.length === 0) return <p class="note">{props.empty}</p>;
    return (
        <ol class="facts">
            {facts.map((fact) => {
                const kind = props.kinds.find((one) => one.kind === fact.kind);
                const waits = kind?.sign && kind.sign !== "maker" && (fact.signs === false || (fact.role !== undefined && fact.role !== "prosthetist")) && fact.withdrawn_by === null && !signed.has(String(fact.id));
                const words = inWords(fact, kind);
                const keys = (
                    <div class="keys">
                        {waits && props.onSign && <Press onPress={() => props.onSign?.(fact)}>Sign it</Press>}
                        {props.onWithdraw && fact.withdrawn_by === null && fact.kind !== "withdrawal" && <Press onPress={() => props.onWithdraw?.(fact)}>Take back</Press>}
                    </div>
                );
                return (
                    <li key={fact.id} class={fact.withdrawn_by !== null ? "withdrawn" : ""}>
                        <details open={Boolean(waits && props.onSign)}>
                            <summary>
                                <span class="head">
                                    <strong>{kind?.title ?? plain(fact.kind)}</strong>
                                    <span>
                                        {moment(fact.happened_at)} {fact.who?.initials ?? ""}
                                    </span>
                                </span>
                            </summary>
                            {words && <p>{words}</p>}
                            {keys}
                        </details>
                        {(fact.out_of_order || props.outOfOrder?.includes(fact.id)) && <p class="mark">out of order</p>}
                        {fact.withdrawn_by !== null && <p class="mark">withdrawn</p>}
                        {waits && <p class="mark">waits for the signature of {kind.sign === "licensed" ? "a prosthetist with a licence" : `a ${plain(kind.sign ?? "")}`}</p>}
                    </li>
                );
            })}
        </ol>
    );
}

/** One value with its unit, from a field's own unit or from the key's ending. */
function amount(name: string, value: number, field: FactField | undefined): string {
    const measure = field ? measureOfUnit(field.unit, name) : measureOf(name);
    return measure === "none" ? said(value) : `${typed(value, measure)}${unitOf(measure) === "°" ? "" : " "}${unitOf(measure)}`;
}

function inWords(fact: Fact, kind: FactKind | undefined): string {
    return Object.entries(fact.body)
        .filter(([name, value]) => value !== null && !["result", "picture", "asked", "squeeze"].includes(name))
        .map(([name, value]) => {
            const field = kind?.fields.find((one) => one.name === name);
            const words = field?.words ?? plain(name);
            if (typeof value === "number") return `${words} ${amount(name, value, field)}`;
            if (value !== null && typeof value === "object" && !Array.isArray(value))
                return `${words}: ${Object.entries(value)
                    .filter(([, below]) => typeof below === "number")
                    .map(([key, below]) => `${plain(key.replace(/_(deg|mm)$/, ""))} ${amount(key, below as number, undefined)}`)
                    .join(", ")}`;
            if (name === "observations" && Array.isArray(value)) return `${words}: ${value.map((one) => plain(String((one as { sign?: string }).sign ?? ""))).join(", ")}`;
            return `${words}: ${said(value)}`;
        })
        .join("; ");
}
