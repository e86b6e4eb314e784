// SPDX-License-Identifier: GPL-3.0-or-later
// What the shop looks up across limbs: the chained record, the recall of a sheet lot, incidents, said and seen.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { call, get } from "./api.ts";
import { serverTime } from "./clock.ts";
import { Choice, Press, Table, TextField, useLoad, Wrong } from "./bones.tsx";
import type { Json, LimbRow, Person } from "./contract.ts";
import { go, to } from "./route.ts";
import { plain } from "./rules.ts";
import { mayWrite } from "./session.ts";
import { moment } from "./units.ts";

interface Entry {
    seq: number;
    at: string;
    who: string | number | { initials: string } | null;
    action: string;
    subject: string;
    hash: string;
}
function who(value: Entry["who"], people: Person[]): string {
    if (value === null || value === 0) return "the program";
    if (typeof value === "object") return value.initials;
    return people.find((one) => String(one.id) === String(value))?.initials ?? String(value);
}
/** "limb/12" leads to the limb. */
function subject(text: string): JSX.Element | string {
    const limb = /^limb(?:_version)?\/(\d+)/.exec(text);
    return limb ? <a href={to("limb", limb[1])}>{text}</a> : text;
}

export function Audit(): JSX.Element {
    const [after, setAfter] = useState<(number | string)[]>([]);
    const from = after[after.length - 1];
    const page = useLoad((signal) => get<{ entries: Entry[]; after: number | string | null }>(`audit?count=100${from === undefined ? "" : `&after=${from}`}`, signal), String(from));
    const people = useLoad((signal) => get<{ people: Person[] }>("people", signal), "");
    return (
        <main id="main" class="plain">
            <h1>The record</h1>
            <p class="note">Every change, in order, each chained to the one before by its hash and signed with the store's key. The command standfast store verify proves the chain.</p>
            <Wrong problem={page.problem} />
            <Table
                caption="Entries"
                heads={["No.", "When", "Who", "What", "Of", "Hash"]}
                rows={(page.value?.entries ?? []).map((one) => [String(one.seq), moment(one.at), who(one.who, people.value?.people ?? []), plain(one.action), subject(one.subject), <code>{one.hash.slice(0, 16)}</code>])}
            />
            <div class="keys">
                {after.length > 0 && <Press onPress={() => setAfter(after.slice(0, -1))}>Back</Press>}
                {page.value?.after !== null && page.value?.after !== undefined && <Press onPress={() => setAfter([...after, page.value!.after!])}>Further</Press>}
            </div>
        </main>
    );
}

export function Recall(props: { lot: string }): JSX.Element {
    const [lot, setLot] = useState(props.lot);
    const found = useLoad(
        (signal) => (props.lot === "" ? Promise.resolve(null) : get<{ lot: string; limbs: (Partial<LimbRow> & { limb?: number; at_home?: boolean; action?: string })[] }>(`recall?lot=${encodeURIComponent(props.lot)}`, signal)),
        props.lot,
    );
    return (
        <main id="main" class="plain">
            <h1>Recall of a sheet lot</h1>
            <form
                class="fact narrow" noValidate
                onSubmit={(event) => {
                    event.preventDefault();
                    go("recall", lot.trim());
                }}
            >
                <TextField words="Sheet lot" value={lot} onValue={setLot} />
                <button type="submit" class="press first" disabled={lot.trim() === ""}>
                    Find every limb of it
                </button>
            </form>
            <Wrong problem={found.problem} />
            {found.value && (
                <Table
                    caption={`${found.value.limbs.length} limbs of lot ${found.value.lot}`}
                    heads={["Limb", "Side", "Stage", "Where it is", "Next"]}
                    rows={found.value.limbs.map((one) => {
                        const id = one.id ?? one.limb ?? "";
                        return [<a href={to("limb", id)}>{one.label || id}</a>, one.side, plain(one.stage ?? ""), one.at_home ? "with the person" : "in the shop", one.next_action ?? one.action ?? ""];
                    })}
                />
            )}
        </main>
    );
}

interface Incident {
    limb: string | number;
    label?: string;
    happened_at: string;
    withdrawn?: boolean;
    body: { what?: Json; harm?: Json; done?: Json } | null;
}

export function Incidents(): JSX.Element {
    const list = useLoad((signal) => get<{ incidents: Incident[] }>("incidents", signal), "");
    const [form, setForm] = useState({ limb: "", what: "", harm: null as string | null, done: "" });
    const [search, setSearch] = useState<LimbRow[] | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const find = async (limb: string): Promise<void> => {
        setForm((now) => ({ ...now, limb }));
        try {
            setSearch(limb.trim() === "" ? null : (await get<{ limbs: LimbRow[] }>(`limbs?search=${encodeURIComponent(limb.trim())}&count=6`)).limbs);
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    const [chosen, setChosen] = useState<LimbRow | null>(null);
    const put = async (): Promise<void> => {
        setProblem(null);
        try {
            await call("POST", "incidents", { limb: chosen?.id, happened_at: serverTime(), body: { what: form.what, harm: form.harm, ...(form.done !== "" && { done: form.done }) } });
            setForm({ limb: "", what: "", harm: null, done: "" });
            setChosen(null);
            setSearch(null);
            list.again();
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    return (
        <main id="main" class="plain">
            <h1>Incidents</h1>
            <Table
                caption="What happened"
                heads={["When", "Limb", "What", "Harm", "Done"]}
                rows={(list.value?.incidents ?? []).map((one) => [
                    moment(one.happened_at),
                    <a href={to("limb", one.limb)}>{one.label ?? one.limb}</a>,
                    `${String(one.body?.what ?? "removed")}${one.withdrawn ? " (withdrawn)" : ""}`,
                    String(one.body?.harm ?? ""),
                    String(one.body?.done ?? ""),
                ])}
            />
            <Wrong problem={problem ?? list.problem} />
            {mayWrite() && (
                <form
                    class="fact narrow" noValidate
                    onSubmit={(event) => {
                        event.preventDefault();
                        void put();
                    }}
                >
                    <h2>Something happened</h2>
                    <p>Local law may ask for a report of its own.</p>
                    <TextField words="Find the limb by its mark" value={form.limb} onValue={(limb) => void find(limb)} kind="search" />
                    {search && (
                        <div class="kinds" role="group" aria-label="Which limb">
                            {search.map((one) => (
                                <Press key={one.id} pressed={chosen?.id === one.id} onPress={() => setChosen(one)}>
                                    {one.label || one.id}, {one.side}
                                </Press>
                            ))}
                            {search.length === 0 && <p class="note">No limb has this mark.</p>}
                        </div>
                    )}
                    <TextField words="What happened" long value={form.what} onValue={(what) => setForm({ ...form, what })} />
                    <Choice
                        words="Harm"
                        value={form.harm}
                        choices={["none", "skin", "fall", "injury"].map((value) => ({ value, words: value }))}
                        onValue={(harm) => setForm({ ...form, harm })}
                    />
                    <TextField words="What was done" long value={form.done} onValue={(done) => setForm({ ...form, done })} />
                    <button type="submit" class="press first" disabled={chosen === null || form.what === "" || form.harm === null}>
                        Write it down
                    </button>
                </form>
            )}
        </main>
    );
}
