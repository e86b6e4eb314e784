// SPDX-License-Identifier: GPL-3.0-or-later
// Said and seen: each prediction beside what then happened, for one limb and for the shop, so that one learns how far to trust it.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { get } from "./api.ts";
import { Choice, Drawing, Table, useDrawing, useLoad, Wrong } from "./bones.tsx";
import type { Limb } from "./contract.ts";
import { plain } from "./rules.ts";
import { to } from "./route.ts";
import { day, figure, worded, type Measure } from "./units.ts";

interface SaidRow {
    limb: number;
    label: string | null;
    kind: string;
    what: string;
    unit: string | null;
    said: number | null;
    seen: number | null;
    low: number | null;
    high: number | null;
    said_words: string | null;
    seen_words: string | null;
    seen_at: string | null;
    came_true: boolean | null;
}
interface Said {
    limbs?: number;
    rows: SaidRow[];
    counts: { kind: string; came_true: number; did_not: number; waiting: number }[];
}

const kinds: { [kind: string]: string } = { wall: "wall", sign: "sign expected to go", "toe-out": "toe-out kept", mass: "mass", length: "length of a child" };
const verdict = (row: SaidRow): JSX.Element | string => (row.came_true === null ? "○ not yet" : row.came_true ? "✓ came true" : <span class="below">did not</span>);
const measured = (value: number | null, unit: string | null): string => figure(value, (unit ?? "none") as Measure);
const cells = (row: SaidRow): (JSX.Element | string)[] => [
    worded(plain(row.what)),
    row.said_words ?? `${measured(row.said, row.unit)}${row.low !== null ? ` (${measured(row.low, row.unit)} to ${measured(row.high, row.unit)})` : ""}`,
    row.seen_words ?? measured(row.seen, row.unit),
    day(row.seen_at),
    verdict(row),
];

/** Each prediction of this limb beside what then happened. */
export function SaidAndSeenHere(props: { limb: Limb }): JSX.Element {
    const { limb } = props;
    const said = useLoad((signal) => get<Said>(`limbs/${encodeURIComponent(limb.id)}/said`, signal), `${limb.id}/${limb.version}/${limb.facts.length}`);
    const rows = (said.value?.rows ?? []).map(cells);
    // What was chosen beside an advice, with what the next walk showed.
    for (const fact of limb.facts.filter((one) => one.kind === "advice-taken" && one.withdrawn_by === null)) {
        const walk = limb.facts.find((one) => one.kind === "walk" && one.withdrawn_by === null && one.happened_at > fact.happened_at);
        const seen = (walk?.body.observations as { sign: string }[] | undefined)?.map((one) => plain(one.sign)).join(", ");
        rows.push(["advice", String(fact.body.advice ?? ""), walk ? seen || "nothing seen" : "—", day(walk?.happened_at), ""]);
    }
    if (said.problem) return <Wrong problem={said.problem} />;
    if (rows.length === 0) return <></>;
    return <Table caption="Said and seen" heads={["What", "Said", "Seen", "When", ""]} rows={rows} />;
}

/** What this shop's predictions were worth. */
export function SaidAndSeen(): JSX.Element {
    const said = useLoad((signal) => get<Said>("said", signal), "");
    const walls = useDrawing("said/walls.svg", undefined);
    const [kind, setKind] = useState("wall");
    const value = said.value;
    const order = (row: SaidRow): number => (row.came_true === false ? 0 : row.came_true === true ? 1 : 2);
    const rows = (value?.rows ?? []).filter((row) => row.kind === kind).sort((one, other) => order(one) - order(other));
    return (
        <main id="main" class="plain said">
            <h1>Said and seen</h1>
            <p class="note">Each prediction beside what then happened, of the {value?.limbs ?? "…"} limbs that were changed last.</p>
            <Wrong problem={said.problem} />
            {!value && !said.problem && <p role="status">Looking it up…</p>}
            {value && (
                <>
                    <Table
                        caption="How often it came true"
                        heads={["Prediction", "Came true", "Did not", "Not yet seen"]}
                        rows={value.counts.map((one) => [kinds[one.kind] ?? one.kind, String(one.came_true), one.did_not > 0 ? <span class="below">{one.did_not}</span> : "0", String(one.waiting)])}
                    />
                    <Drawing
                        svg={walls.svg}
                        problem={walls.problem}
                        alt="Walls: measured against expected, with the line of equality and a band of ten per cent"
                        twin={<Table caption="Walls" heads={["Limb", "Expected", "Measured"]} rows={value.rows.filter((row) => row.kind === "wall" && row.seen !== null).map((row) => [row.label ?? String(row.limb), measured(row.said, row.unit), measured(row.seen, row.unit)])} />}
                    />
                    <Choice words="Which" value={kind} choices={value.counts.map((one) => ({ value: one.kind, words: kinds[one.kind] ?? one.kind }))} onValue={setKind} />
                    <Table
                        caption={`${kinds[kind] ?? kind}: those that did not come true first`}
                        heads={["Limb", "What", "Said", "Seen", "When", ""]}
                        rows={rows.map((row) => [<a href={to("limb", row.limb)}>{row.label ?? row.limb}</a>, ...cells(row)])}
                    />
                    <p class="note">
                        A wall within 10 % of what was expected; a sign that was weaker or gone after the change; toe-out within what the shop allows through fastening; a mass within its error; a knee height within the forecast's 90 %.
                        Between two walks a change counts as made for the strongest sign seen before it.
                    </p>
                </>
            )}
        </main>
    );
}
