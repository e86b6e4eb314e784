// SPDX-License-Identifier: GPL-3.0-or-later
// How far the pylon is from first yield, along its height and by level; and what another wall, cut, mass or spacer would do,
// answered while the thumb is still on the slider.
import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { compute } from "./api.ts";
import { Caveats, Drawing, Figure, Press, Table, useDrawing, useLoad, Wrong } from "./bones.tsx";
import type { Json, Limb, LimbDocument, RingResult, StrengthCase, StrengthResult } from "./contract.ts";
import { changed, valueAt, type Change, type Desk } from "./limb_desk.ts";
import { Mend } from "./mend.tsx";
import { figure, number, toShown, unitOf, worded, type Measure } from "./units.ts";

const quick = { samples: 0 };

/** The least factor of a level and kind of force: the one that governs. */
const least = (cases: StrengthCase[], level: string | null, kind: string): StrengthCase | null =>
    cases.filter((one) => (level === null || one.level === level) && one.force_kind === kind && one.elastic_factor !== null).sort((one, other) => (one.elastic_factor ?? 0) - (other.elastic_factor ?? 0))[0] ?? null;

const kinds: [string, string][] = [
    ["proof", "proof"],
    ["ultimate-lower", "ultimate, lower"],
    ["ultimate-upper", "ultimate, upper"],
    ["cyclic", "cyclic"],
];

export function LevelTable(props: { result: StrengthResult }): JSX.Element {
    const { result } = props;
    const levels = [...new Set(result.cases.map((one) => one.level))];
    return (
        <Table
            caption="Factor on the force at first yield (and at collapse where it is computed), by the test standard's level"
            heads={["Level", ...kinds.map(([, words]) => words)]}
            rows={levels.map((level) => [
                `${level}${level === result.level_for_mass ? " ◂ this mass" : ""}`,
                ...kinds.map(([kind]) => {
                    const one = least(result.cases, level, kind);
                    return one ? (
                        <span class={(one.elastic_factor ?? 0) < 1 ? "below" : ""}>
                            {number(one.elastic_factor, "none")}
                            {one.collapse_factor !== null && ` (${number(one.collapse_factor, "none")})`} <small>{one.condition}</small>
                        </span>
                    ) : (
                        "—"
                    );
                }),
            ])}
        />
    );
}

type RingEntry = { [key: string]: Json };

/** Where no cut height and no height of the ring is written down: near the foot of most limbs of this kind (judgement). */
const ringHeight = 110;

/** The limb as far as strength can be told: a ring that was measured before its height was known stands at a height that is said. */
function known(limb: Limb): { document: LimbDocument; assumed: string | null } {
    const rings = (valueAt(limb.document, ["pylon", "rings"]) as RingEntry[] | undefined) ?? [];
    const measured = [...limb.rings].reverse().find((one) => one.picture && !one.withdrawn);
    if (rings.length > 0 || !measured?.picture) return { document: limb.document, assumed: null };
    const result = resultOf(limb, measured.picture);
    const height = measured.height_mm ?? amount(limb.document, ["pylon", "cut_height_mm"]) ?? ringHeight;
    const entry: RingEntry = { height_mm: height, image: measured.picture };
    if (result?.dpi) entry.dpi = result.dpi;
    if (measured.posterior_deg !== null && measured.posterior_deg !== undefined) entry.posterior_deg = measured.posterior_deg;
    if (measured.face) entry.face = measured.face;
    return {
        document: changed(limb.document, [{ path: ["pylon", "rings"], value: [entry] }]),
        assumed: measured.height_mm === null ? `The ring's height is not written down: ${figure(height, "mm", 0)} above the floor is taken.` : null,
    };
}

const resultOf = (limb: Limb, picture: string): RingResult | null =>
    ([...limb.facts].reverse().find((fact) => fact.kind === "ring" && fact.body.picture === picture)?.body.result as unknown as RingResult | undefined) ?? null;

/** For the sliders: scanned rings as tubes of their mean diameters, with their groove and unjoined line at the seam; no picture is read anew. */
function asTubes(limb: Limb, document: LimbDocument): LimbDocument {
    const rings = (valueAt(document, ["pylon", "rings"]) as RingEntry[] | undefined) ?? [];
    const tubes = rings.map((ring): RingEntry => {
        const result = typeof ring.image === "string" ? resultOf(limb, ring.image) : null;
        if (!result) return ring;
        const value = (key: string): number => (typeof result[key] === "number" ? (result[key] as number) : 0);
        const tube: RingEntry = { height_mm: ring.height_mm, outer_diameter_mm: value("outer_diameter_mean_mm"), inner_diameter_mm: value("inner_diameter_mean_mm"), seam_deg: result.limb_angles?.seam_deg ?? 270 };
        if (value("groove_depth_mm") > 0) Object.assign(tube, { groove_depth_mm: value("groove_depth_mm"), groove_width_mm: grooveWidth });
        if (value("seam_unjoined_depth_mm") > 0) tube.unjoined_depth_mm = value("seam_unjoined_depth_mm");
        return tube;
    });
    return rings.length > 0 ? changed(document, [{ path: ["pylon", "rings"], value: tubes }]) : document;
}
const grooveWidth = 8; // mm; judgement: the scan gives its depth, not its width

interface Slide {
    words: string;
    path: (string | number)[];
    measure: Measure;
    low: number;
    high: number;
    step: number;
    now: number;
}

const amount = (document: LimbDocument, path: (string | number)[]): number | null => {
    const value = valueAt(document, path);
    return typeof value === "number" ? value : null;
};

function slides(document: LimbDocument): Slide[] {
    const list: Slide[] = [];
    const mass = document.person.body_mass_kg;
    list.push({ words: "Body mass", path: ["person", "body_mass_kg"], measure: "kg", low: Math.max(3, Math.round(mass * 0.6)), high: Math.min(300, Math.round(mass * 1.5)), step: 1, now: mass });
    const wall = amount(document, ["pylon", "expected_wall_mm"]);
    const rings = (valueAt(document, ["pylon", "rings"]) as { [key: string]: Json }[] | undefined) ?? [];
    if (rings.length === 0 && wall !== null) list.push({ words: "Expected wall", path: ["pylon", "expected_wall_mm"], measure: "mm", low: 3, high: 10, step: 0.1, now: wall });
    rings.forEach((ring, place) => {
        if (typeof ring.inner_diameter_mm === "number" && typeof ring.outer_diameter_mm === "number")
            list.push({ words: `Bore at ring ${place + 1}`, path: ["pylon", "rings", place, "inner_diameter_mm"], measure: "mm", low: ring.outer_diameter_mm - 20, high: ring.outer_diameter_mm - 6, step: 0.2, now: ring.inner_diameter_mm });
    });
    const top = amount(document, ["pylon", "top_height_mm"]);
    const cut = amount(document, ["pylon", "cut_height_mm"]);
    if (cut !== null && top !== null) list.push({ words: "Cut height", path: ["pylon", "cut_height_mm"], measure: "mm", low: Math.max(20, cut - 40), high: Math.min(top - 20, cut + 40), step: 1, now: cut });
    if (top !== null) list.push({ words: "Pylon ends at", path: ["pylon", "top_height_mm"], measure: "mm", low: (cut ?? 30) + 20, high: top + 80, step: 1, now: top });
    for (const [words, name, low, high] of [
        ["Foot forward", "foot_forward_mm", -30, 30],
        ["Foot outset", "foot_outset_mm", -30, 30],
    ] as const)
        list.push({ words, path: ["alignment", name], measure: "mm", low, high, step: 1, now: amount(document, ["alignment", name]) ?? 0 });
    return list;
}

/** Another choice beside the present one. Only the newest position is asked for; an answer that comes late is dropped. */
function Compare(props: { limb: Limb; document: LimbDocument }): JSX.Element {
    const document = asTubes(props.limb, props.document);
    const start = useLoad((signal) => compute<StrengthResult>("strength", { document, options: quick }, signal), JSON.stringify(document));
    const [moved, setMoved] = useState<{ [path: string]: number }>({});
    const [other, setOther] = useState<StrengthResult | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const [took, setTook] = useState<number | null>(null);
    const busy = useRef(false);
    const wanted = useRef<Change[] | null>(null);
    const place = useRef(0);
    const list = slides(document);
    const ask = async (): Promise<void> => {
        if (busy.current) return;
        busy.current = true;
        while (wanted.current) {
            const changes = wanted.current;
            const asked = place.current;
            wanted.current = null;
            const began = performance.now();
            try {
                // Another mass may be another level; else the present one is all that is looked at.
                const level = changes.some((change) => change.path[0] === "person") ? null : start.value?.level_for_mass;
                const next = await compute<StrengthResult>("strength", { document: changed(document, changes), options: level ? { ...quick, level } : quick });
                if (asked !== place.current) continue;
                setOther(next);
                setTook(performance.now() - began);
                setProblem(null);
            } catch (wrong) {
                setProblem(wrong);
            }
        }
        busy.current = false;
    };
    /** Asks at once, not after the next frame: the thumb waits. */
    const move = (next: { [path: string]: number }): void => {
        setMoved(next);
        const changes = list.filter((slide) => slide.path.join(".") in next).map((slide) => ({ path: slide.path, value: next[slide.path.join(".")] }));
        if (changes.length > 0) {
            wanted.current = changes;
            void ask();
            return;
        }
        // Back at the limb as it is: what is still on its way belongs to no place of the sliders.
        wanted.current = null;
        place.current++;
        setOther(null);
    };
    useEffect(() => {
        place.current++;
        if (Object.keys(moved).length > 0) move(moved);
    }, [JSON.stringify(document)]);
    const level = (result: StrengthResult): string | null => result.level_for_mass;
    const base = start.value;
    if (!base) return <Wrong problem={start.problem} />;
    return (
        <section class="compare" aria-label="Another choice">
            <h2>What if</h2>
            {list.map((slide) => {
                const key = slide.path.join(".");
                const value = moved[key] ?? slide.now;
                return (
                    <label key={key} class="slide">
                        <span>{slide.words}</span>
                        <input
                            type="range"
                            min={slide.low}
                            max={slide.high}
                            step={slide.step}
                            value={value}
                            aria-valuetext={figure(value, slide.measure)}
                            onInput={(event) => move({ ...moved, [key]: Number(event.currentTarget.value) })}
                        />
                        <output>{figure(value, slide.measure)}</output>
                    </label>
                );
            })}
            <Wrong problem={problem} />
            <Table
                caption="Now and then, least factor on the force at first yield"
                heads={["Force", `Now, ${level(base) ?? "—"}`, other ? `Then, ${level(other) ?? "—"}` : "Then"]}
                rows={kinds.map(([kind, words]) => {
                    const now = least(base.cases, level(base), kind);
                    const then = other ? least(other.cases, level(other), kind) : null;
                    return [words, number(now?.elastic_factor, "none"), other ? <span class={(then?.elastic_factor ?? 1) < 1 ? "below" : ""}>{number(then?.elastic_factor, "none")}</span> : "—"];
                })}
            />
            <p class="note" data-took={took ?? undefined}>
                {took !== null && `Answered in ${took.toFixed(0)} ms. `}Nothing is saved by moving these. A scanned ring counts here as a tube of its mean diameters with its groove and unjoined line.
            </p>
            {Object.keys(moved).length > 0 && <Press onPress={() => move({})}>Back to the limb as it is</Press>}
        </section>
    );
}

export function StrengthView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { limb, desk } = props;
    const { document, assumed } = known(limb);
    const key = JSON.stringify(document);
    const result = useLoad((signal) => compute<StrengthResult>("strength", { document, options: quick }, signal), key);
    const drawn = useDrawing(result.problem ? null : "compute/strength/drawing", { document, options: quick });
    if (result.problem) return <Mend desk={desk} problem={result.problem} likely={["pylon.expected_wall_mm", "pylon.material", "pylon.cut_height_mm", "pylon.top_height_mm", "person.stature_mm", "socket.distal_end_height_mm", "foot.build_height_mm"]} />;
    const value = result.value;
    if (!value) return <p role="status">Computing…</p>;
    const worst = least(value.cases, value.level_for_mass, "ultimate-upper");
    const proof = least(value.cases, value.level_for_mass, "proof");
    const state = (factor: number | null | undefined): "in" | "out" | null => (factor === null || factor === undefined ? null : factor < 1 ? "out" : "in");
    return (
        <div class="strength">
            <dl class="figures">
                <Figure words={`level for ${figure(value.mass_kg, "kg")}`} value={value.level_for_mass ?? "none"} beside="of the test standard" />
                <Figure words="proof force, factor to first yield" value={number(proof?.elastic_factor, "none")} beside="limit 1" state={state(proof?.elastic_factor)} />
                <Figure words="upper ultimate force" value={number(worst?.elastic_factor, "none")} beside={worst ? `at ${figure(worst.station_mm, "mm", 0)}, condition ${worst.condition}` : ""} state={state(worst?.elastic_factor)} />
                {value.walking && <Figure words="ordinary walking" value={number(value.walking.elastic_factor, "none")} beside="factor to first yield" />}
            </dl>
            {assumed && <p class="flag">△ {assumed}</p>}
            <ul class="finding">
                {value.finding.map((line) => (
                    <li key={line}>{worded(line)}</li>
                ))}
            </ul>
            {value.gates.some((gate) => !gate.open) && (
                <ul class="gate">
                    {value.gates
                        .filter((gate) => !gate.open)
                        .map((gate) => (
                            <li key={gate.part + gate.unit}>
                                <strong>{gate.part}</strong>: {gate.unit === "kg" ? `${figure(gate.value, "kg")} against ${figure(gate.limit, "kg")}` : `${gate.value} against ${gate.limit} ${gate.unit}`}
                            </li>
                        ))}
                </ul>
            )}
            <div class="two">
                <Drawing
                    svg={drawn.svg}
                    problem={drawn.problem}
                    alt="The pylon to scale with the stress along its height and the governing section"
                    twin={
                        <>
                            <LevelTable result={value} />
                            {value.profile && (
                                <Table
                                    caption="Along the height"
                                    heads={["Height", "Outer", "Bore", "Moment", "Stress"]}
                                    rows={value.profile
                                        .filter((_, place) => place % 3 === 0)
                                        .map((one) => [figure(one.height_mm, "mm", unitOf("mm") === "in" ? 1 : 0), figure(one.outer_mm, "mm"), figure(one.inner_mm, "mm"), figure(one.moment_nm, "nm", 0), figure(one.stress_mpa, "mpa")])}
                                />
                            )}
                        </>
                    }
                />
                <Compare limb={limb} document={document} />
            </div>
            <LevelTable result={value} />
            {value.temperatures && (
                <Table
                    caption="Cold and warm, factor of the case that governs"
                    heads={["Temperature", "Level", "Factor"]}
                    rows={value.temperatures.map((one) => [`${toShown(one.temperature_c, "c").toFixed(0)} ${unitOf("c")}`, one.level, number(one.elastic_factor, "none")])}
                />
            )}
            {value.fatigue && (
                <p>
                    Fatigue at {value.fatigue.level}: utilisation {number(value.fatigue.utilisation_1e6, "none")} at a million, {number(value.fatigue.utilisation_3e6, "none")} at three million cycles
                    {value.fatigue.band && ` (${number(value.fatigue.band[0], "none")} to ${number(value.fatigue.band[1], "none")})`}.
                </p>
            )}
            <Caveats of={value} />
        </div>
    );
}
