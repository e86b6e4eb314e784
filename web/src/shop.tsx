// SPDX-License-Identifier: GPL-3.0-or-later
// What is due in this shop today: limbs by their next action, dates, rings that need a look; search; a new limb.
import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { call, get } from "./api.ts";
import { Choice, DecisionMark, NumberField, Press, TextField, useLoad, Wrong } from "./bones.tsx";
import type { Flag, Limb, LimbRow, Shop, Side } from "./contract.ts";
import { plain, stageRules } from "./rules.ts";
import { go, to } from "./route.ts";
import { mayWrite } from "./session.ts";
import { day } from "./units.ts";
import { dueWords } from "./follow_up.tsx";

/** In the shop only what wants somebody: that a ring was accepted with a limit stands at the limb. */
const quiet = ["accepted-with-limit"];
const urgent = (flags: (string | Flag)[]): string =>
    flags
        .filter((flag) => !quiet.includes(typeof flag === "string" ? flag : flag.code))
        .map(flagText)
        .join("; ");
const flagText = (flag: string | Flag): string => (typeof flag === "string" ? plain(flag) : flag.text);

function Row(props: { limb: string; label: string; side?: Side; beside: JSX.Element | string; mark?: JSX.Element | string | null; view?: string }): JSX.Element {
    return (
        <li>
            <a href={props.view ? to("limb", props.limb, props.view) : to("limb", props.limb)}>
                <span class="what">
                    <strong>{props.label}</strong>
                    {props.side && <span class="side"> {props.side}</span>}
                </span>
                <span class="beside">{props.beside}</span>
                {props.mark && <span class="mark">{props.mark}</span>}
            </a>
        </li>
    );
}

export function ShopView(): JSX.Element {
    const shop = useLoad((signal) => get<Shop>("shop", signal), "");
    const rules = useLoad(() => stageRules(), "");
    const [search, setSearch] = useState("");
    const [found, setFound] = useState<{ limbs: LimbRow[]; after: string | null } | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    useEffect(() => {
        if (search.trim() === "") return setFound(null);
        const quit = new AbortController();
        const timer = setTimeout(() => {
            get<{ limbs: LimbRow[]; after: string | null }>(`limbs?search=${encodeURIComponent(search.trim())}&count=50`, quit.signal).then(
                (next) => {
                    setFound(next);
                    setProblem(null);
                },
                (wrong) => !quit.signal.aborted && setProblem(wrong),
            );
        }, 150);
        return () => {
            clearTimeout(timer);
            quit.abort();
        };
    }, [search]);
    const value = shop.value;
    const order = rules.value?.stages.map((stage) => stage.name) ?? [];
    const next = [...(value?.next ?? [])].sort((one, other) => order.indexOf(one.stage) - order.indexOf(other.stage));
    const stages = [...new Set(next.map((one) => one.stage))];
    return (
        <main id="main" class="shop">
            <div class="top">
                <h1>Today in the shop</h1>
                <div class="search">
                    <TextField words="Search: mark, sheet lot" value={search} onValue={setSearch} kind="search" />
                </div>
                {mayWrite() && (
                    <a class="press first" href={to("new")}>
                        New limb
                    </a>
                )}
            </div>
            <Wrong problem={problem ?? shop.problem} />
            {found ? (
                <section aria-label="Found">
                    <h2>
                        Found {found.limbs.length}
                        {found.after ? " or more" : ""}
                    </h2>
                    <ul class="rows">
                        {found.limbs.map((limb) => (
                            <Row
                                key={limb.id}
                                limb={limb.id}
                                label={limb.label || limb.id}
                                side={limb.side}
                                beside={limb.next_action ?? "nothing to do"}
                                mark={urgent(limb.flags) || (limb.sheet_lot ? `lot ${limb.sheet_lot}` : null)}
                            />
                        ))}
                    </ul>
                </section>
            ) : (
                <div class="columns">
                    <section aria-label="Next actions">
                        <h2>Next on the bench</h2>
                        {value && next.length === 0 && <p class="note">No limb waits for anything. {mayWrite() && "Begin with a new limb."}</p>}
                        {stages.map((stage) => (
                            <div key={stage} class="stage">
                                <h3>{rules.value?.stages.find((one) => one.name === stage)?.title ?? plain(stage)}</h3>
                                <ul class="rows">
                                    {next
                                        .filter((one) => one.stage === stage)
                                        .map((one) => (
                                            <Row key={one.limb} limb={one.limb} label={one.label || one.limb} side={one.side} beside={one.action} mark={urgent(one.flags) || null} view={one.stage} />
                                        ))}
                                </ul>
                            </div>
                        ))}
                    </section>
                    <section aria-label="Due">
                        <h2>Due</h2>
                        {value && value.due.length === 0 && <p class="note">Nothing is due.</p>}
                        <ul class="rows">
                            {(value?.due ?? []).map((one) => (
                                <Row key={one.limb + one.what + one.date} limb={one.limb} label={one.label || one.limb} side={one.side} beside={dueWords(one)} mark={one.overdue ? `overdue since ${day(one.date)}` : day(one.date)} view="follow-up" />
                            ))}
                        </ul>
                        <h2>Rings that need a look</h2>
                        {value && value.look.length === 0 && <p class="note">None.</p>}
                        <ul class="rows">
                            {(value?.look ?? []).map((one) => (
                                <Row key={one.limb + one.ring} limb={one.limb} label={one.label || one.limb} beside={<DecisionMark decision={one.decision} />} view="ring" />
                            ))}
                        </ul>
                        {value && (
                            <p class="note">
                                {value.counts.limbs} limbs, {value.counts.at_home} of them at home.
                            </p>
                        )}
                    </section>
                </div>
            )}
        </main>
    );
}

/** Side, mass, a mark: the rest can come later, and what is missing is asked for where it is needed. */
export function NewLimb(props: { wearer: string | null }): JSX.Element {
    const [label, setLabel] = useState("");
    const [side, setSide] = useState<Side | null>(null);
    const [mass, setMass] = useState<number | null>(null);
    const [birth, setBirth] = useState("");
    const [problem, setProblem] = useState<unknown>(null);
    const [busy, setBusy] = useState(false);
    const make = async (): Promise<void> => {
        if (side === null || mass === null || label.trim() === "") {
            setProblem(new Error(`Still needed: ${[side === null && "the side", mass === null && "the body mass", label.trim() === "" && "a mark"].filter(Boolean).join(", ")}.`));
            return;
        }
        setBusy(true);
        setProblem(null);
        try {
            const limb = await call<Limb>("POST", "limbs", {
                ...(props.wearer !== null && { wearer: Number(props.wearer) }),
                document: {
                    format: "standfast-limb/1",
                    person: { side, body_mass_kg: mass, label: label.trim(), ...(birth && { birth_date: birth }) },
                },
            });
            go("limb", limb.id);
        } catch (wrong) {
            setProblem(wrong);
        } finally {
            setBusy(false);
        }
    };
    return (
        <main id="main" class="plain">
            <h1>{props.wearer === null ? "New limb" : "Another limb of the same person"}</h1>
            <form
                class="fact narrow" noValidate
                onSubmit={(event) => {
                    event.preventDefault();
                    void make();
                }}
            >
                <Choice
                    words="Side"
                    required
                    value={side}
                    choices={[
                        { value: "left", words: "left" },
                        { value: "right", words: "right" },
                    ]}
                    onValue={setSide}
                />
                <NumberField words="Body mass, dressed, limb on" measure="kg" name="body_mass_kg" required value={mass} low={3} high={300} onValue={setMass} />
                <TextField words="Mark" required value={label} onValue={setLabel} max={200} note="A number or mark of the shop, no name" />
                <TextField words="Birth date" kind="date" value={birth} onValue={setBirth} note="Needed for a child: growth, and the wall that is wanted" />
                <Wrong problem={problem} />
                <div class="keys">
                    <button type="submit" class="press first" disabled={busy}>
                        Begin
                    </button>
                    <Press onPress={() => go("shop")}>Leave</Press>
                </div>
            </form>
        </main>
    );
}
