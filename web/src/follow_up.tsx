// SPDX-License-Identifier: GPL-3.0-or-later
// Follow-up: what is due and when, and for a child the growth with its fan, its dates and its spacers.
import type { JSX } from "preact";
import { Drawing, Figure, Table, useDrawing } from "./bones.tsx";
import { Computed } from "./computed.tsx";
import type { Limb } from "./contract.ts";
import { DocumentForm } from "./document_form.tsx";
import type { Desk } from "./limb_desk.ts";
import { plain } from "./rules.ts";
import { SaidAndSeenHere } from "./said.tsx";
import { day, figure, number, units, worded } from "./units.ts";

interface Due {
    limit_mm: number;
    date: string | null;
    interval: [string | null, string | null] | null;
    state: string;
}
interface Growth {
    forecast: { date: string; stature_mm: number | null; stature_interval_mm: [number, number] | null; knee_height_mm: number | null; knee_height_interval_mm: [number, number] | null }[];
    short_now_mm: number | null;
    due: { remind: Due; warn: Due; alarm: Due } | null;
    stacks: { for: string; date: string; needed_mm: number; pieces_mm: number[]; total_mm: number; error_mm: number; needs_signature: boolean; bolt: { swap: boolean; length_needed_mm: number } | null; strength: { level: string; elastic_factor: number | null } | null }[];
    limits: { limit: string; date: string | null; text: string }[];
    first_limit: string | null;
}

/** What is due in a line: an inspection, a reading, or a length that the child outgrows. */
export const dueWords = (due: { what: string; short_mm?: number | null }): string => plain(due.what) + (due.short_mm ? `, ${figure(due.short_mm, "mm")} short by the forecast` : "");

const open = (text: string | null | undefined): string => (text ? day(text) : "open");

const span = (value: number | null, interval: [number, number] | null): string => figure(value, "mm") + (interval ? ` (${number(interval[0], "mm")} to ${number(interval[1], "mm")})` : "");

function Chart(props: { limb: Limb; growth: Growth }): JSX.Element {
    const { svg, problem } = useDrawing("compute/growth/drawing", { document: props.limb.document, options: { units: units() } });
    const table = (
        <Table
            caption="Forecast, 90 %"
            heads={["Day", "Stature", "Knee height"]}
            rows={props.growth.forecast
                .filter((_, place) => place % 3 === 2)
                .map((one) => [
                    day(one.date),
                    span(one.stature_mm, one.stature_interval_mm),
                    span(one.knee_height_mm, one.knee_height_interval_mm),
                ])}
        />
    );
    return problem ? table : <Drawing svg={svg} alt="Growth: centiles, readings, forecast fan, and when the limb is short by each limit" twin={table} />;
}

export function FollowUpView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { desk, limb } = props;
    const born = limb.document.person.birth_date;
    const grown = born ? new Date(`${born}T12:00:00`).setFullYear(Number(born.slice(0, 4)) + 20) < Date.now() : true;
    return (
        <div>
            <h2>Due</h2>
            {limb.state.due.length === 0 && <p class="note">Nothing is due: the dates begin when the limb goes home.</p>}
            <ul class="due">
                {limb.state.due.map((one) => (
                    <li key={one.what + one.date}>
                        <strong>{day(one.date)}</strong> {dueWords(one)} {one.rule && !one.short_mm && <span class="note">{worded(one.rule)}</span>}
                    </li>
                ))}
            </ul>
            {!grown && (
                <section aria-label="Growth">
                    <h2>Growth</h2>
                    <Computed {...props} name="growth" likely={["person.sex", "person.birth_date", "person.prosthesis_knee_height_mm", "person.prosthesis_set_date", "person.knee_height_history"]}>
                        {(raw) => {
                            const value = raw as unknown as Growth;
                            return (
                                <>
                                    <dl class="figures">
                                        <Figure words="short now by" value={figure(value.short_now_mm, "mm")} />
                                        {value.due &&
                                            (["remind", "warn", "alarm"] as const).map((step) => {
                                                const due = value.due?.[step];
                                                return due ? (
                                                    <Figure
                                                        key={step}
                                                        words={`${step}: ${figure(due.limit_mm, "mm")} short`}
                                                        value={due.state === "now" ? "now" : value.short_now_mm === null ? "—" : open(due.date)}
                                                        beside={due.interval && due.state !== "now" && value.short_now_mm !== null ? `${open(due.interval[0])} to ${open(due.interval[1])}` : ""}
                                                        state={due.state === "now" ? "out" : null}
                                                    />
                                                ) : null;
                                            })}
                                    </dl>
                                    <Chart limb={limb} growth={value} />
                                    {value.short_now_mm === null && <p class="note">Not known yet: how high the prosthesis stands, and the sound side's knee height. Both go in below.</p>}
                                    {value.stacks.length > 0 && <Table
                                        caption="Spacers from the shop's stock"
                                        heads={["For", "Wanted", "Pieces", "Off by", "Foot bolt", "First yield"]}
                                        rows={value.stacks.map((one) => [
                                            `${plain(one.for)}, ${day(one.date)}`,
                                            figure(one.needed_mm, "mm"),
                                            `${one.pieces_mm.map((piece) => number(piece, "mm")).join(" + ")} = ${figure(one.total_mm, "mm")}${one.needs_signature ? ", signed" : ""}`,
                                            figure(one.error_mm, "mm"),
                                            one.bolt ? (one.bolt.swap ? `swap for ${figure(one.bolt.length_needed_mm, "mm", 0)}` : "stays") : "—",
                                            one.strength ? `${number(one.strength.elastic_factor, "none")} at ${one.strength.level}` : "—",
                                        ])}
                                    />}
                                    <h3>Which limit comes first</h3>
                                    <ul>
                                        {value.limits.map((one) => (
                                            <li key={one.limit}>
                                                {one.limit === value.first_limit ? <strong>{plain(one.limit)}</strong> : plain(one.limit)}, {open(one.date)}: {worded(one.text)}
                                            </li>
                                        ))}
                                    </ul>
                                </>
                            );
                        }}
                    </Computed>
                    <details>
                        <summary>Readings and how high the prosthesis stands</summary>
                        <DocumentForm desk={desk} paths={["person.sex", "person.birth_date", "person.prosthesis_knee_height_mm", "person.prosthesis_set_date", "person.knee_height_history", "person.levelling_block_history", "person.stature_history"]} />
                    </details>
                </section>
            )}
            <SaidAndSeenHere limb={limb} />
        </div>
    );
}
