// SPDX-License-Identifier: GPL-3.0-or-later
// Choices side by side before anything is formed: sheet, material card, foot and adapter, each as a plan for this limb.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { compute } from "./api.ts";
import { Caveats, Choice, NumberField, Press, Table, useLoad, Wrong } from "./bones.tsx";
import type { Json, Limb, LimbDocument } from "./contract.ts";
import { changed, valueAt } from "./limb_desk.ts";
import { figure, number, worded } from "./units.ts";

const cards = ["pp-copolymer", "pp-homopolymer"]; // those of data/materials
const samples = 2000; // enough for two digits of a 90 % band
const most = 6;

interface OneChoice {
    sheet_mm: number | null;
    material: string;
    foot: string;
    adapter: string;
}
interface Compared {
    choices: {
        name: string;
        outer_mm: number;
        wall_mm: number;
        free_length_mm: number;
        pylon_mass_g: number;
        level: string;
        proof_factor: number | null;
        elastic_factor: number | null;
        elastic_band: [number, number] | null;
        collapse_factor: number | null;
        collapse_band: [number, number] | null;
    }[];
    assumptions: string[];
    notes: string[];
    safety: string;
}
interface Formed {
    wall_mm: number | null;
    wall_interval_mm: [number, number] | null;
    least_wall_mm: number | null;
}
interface Gated {
    pairs: { foot: string; adapter: string; fitted: boolean; usable_cylinder_mm: number | null; limb_mass_kg: number | null; open: boolean | null; gates: { open: boolean | null; text: string }[] }[];
}

/** The limb that is planned for, without what only a formed one has. */
const planned = (document: LimbDocument): LimbDocument => changed(document, [{ path: ["pylon", "rings"], value: [] }, { path: ["pylon", "holes"], value: [] }]);

const plan = (document: LimbDocument, choice: OneChoice, model_diameter_mm: number): Json => ({
    format: "standfast-plan/1",
    material: choice.material,
    sheet_mm: choice.sheet_mm,
    model_diameter_mm,
    limb: changed(planned(document), [{ path: ["pylon", "material"], value: choice.material }]) as unknown as Json,
});

function Pick(props: { words: string; value: string; names: string[]; onValue: (value: string) => void }): JSX.Element {
    return (
        <label class="field">
            <span>{props.words}</span>
            <select value={props.value} onChange={(event) => props.onValue(event.currentTarget.value)}>
                <option value="">as it is</option>
                {props.names.map((name) => (
                    <option key={name} value={name}>
                        {name}
                    </option>
                ))}
            </select>
        </label>
    );
}

function Answer(props: { document: LimbDocument; choices: OneChoice[]; model: number; parts: Gated | null }): JSX.Element | null {
    const { document, choices, model, parts } = props;
    const plans = choices.map((choice) => plan(document, choice, model));
    const fit = choices.map((choice) => (choice.foot || choice.adapter ? { ...(choice.foot && { foot: choice.foot }), ...(choice.adapter && { adapter: choice.adapter }) } : null));
    const key = JSON.stringify([plans, fit]);
    const compared = useLoad((signal) => compute<Compared>("compare", { documents: plans, names: choices.map((_, place) => `choice ${place + 1}`), fit, options: { samples } }, signal), key);
    const formed = useLoad((signal) => Promise.all(plans.map((one) => compute<Formed>("form", { plan: one, options: {} }, signal))), key);
    const value = compared.value;
    if (compared.problem) return <Wrong problem={compared.problem} />;
    if (!value || value.choices.length !== choices.length) return <p role="status">Computing…</p>;
    const pair = (choice: OneChoice): Gated["pairs"][number] | undefined => parts?.pairs.find((one) => one.foot === (choice.foot || "fitted") && one.adapter === (choice.adapter || "fitted"));
    const banded = (factor: number | null, band: [number, number] | null): JSX.Element => (
        <span class={(factor ?? 1) < 1 ? "below" : ""}>
            {number(factor, "none")}
            {band && <small> {`${number(band[0], "none")} to ${number(band[1], "none")}`}</small>}
        </span>
    );
    const each = <T,>(show: (one: Compared["choices"][number], place: number) => T): T[] => value.choices.map(show);
    const rows = [
        ["Wall expected", ...each((_, place) => {
            const one = formed.value?.[place];
            return one ? `${figure(one.wall_mm, "mm")}${one.wall_interval_mm ? ` (${number(one.wall_interval_mm[0], "mm")} to ${number(one.wall_interval_mm[1], "mm")})` : ""}` : "—";
        })],
        ["Least wall expected", ...each((_, place) => figure(formed.value?.[place]?.least_wall_mm ?? null, "mm"))],
        ["Outside at the cut", ...each((one) => figure(one.outer_mm, "mm"))],
        ["Pylon's mass", ...each((one) => figure(one.pylon_mass_g / 1000, "kg", 2))],
        [`Proof force of ${value.choices[0]?.level}, first yield`, ...each((one) => banded(one.proof_factor, null))],
        ["Hardest case, first yield", ...each((one) => banded(one.elastic_factor, one.elastic_band))],
        ["Hardest case, collapse", ...each((one) => banded(one.collapse_factor, one.collapse_band))],
        ["Cylinder left", ...choices.map((choice) => figure(pair(choice)?.usable_cylinder_mm ?? null, "mm"))],
        ["Limb's mass", ...choices.map((choice) => figure(pair(choice)?.limb_mass_kg ?? null, "kg", 2))],
        ["Gates of the parts", ...choices.map((choice) => {
            const gates = pair(choice)?.gates;
            if (!gates) return "—";
            const texts = (open: boolean | null): string => gates.filter((gate) => gate.open === open).map((gate) => worded(gate.text)).join("; ");
            const [shut, unknown] = [texts(false), texts(null)];
            return (
                <>
                    {shut ? <span class="below">shut: {shut}</span> : unknown ? "" : "open"}
                    {unknown && <span> not known: {unknown}</span>}
                </>
            );
        })],
    ];
    return (
        <>
            <Table caption="Side by side; small figures are the 90 % band" heads={["", ...choices.map((_, place) => `Choice ${place + 1}`)]} rows={rows} />
            <Caveats of={value} />
        </>
    );
}

export function Choices(props: { limb: Limb }): JSX.Element {
    const { document } = props.limb;
    const has = (path: string[]): number | null => {
        const value = valueAt(document, path);
        return typeof value === "number" ? value : null;
    };
    const card = valueAt(document, ["pylon", "material"]);
    const own = typeof card === "string" && cards.includes(card) ? card : (cards[0] as string);
    const first = has(["pylon", "forming", "sheet_mm"]) ?? 8;
    const [model, setModel] = useState<number | null>(has(["adapter", "shank_mm"]));
    const [choices, setChoices] = useState<OneChoice[]>([first, first + 2].map((sheet_mm) => ({ sheet_mm, material: own, foot: "", adapter: "" })));
    const parts = useLoad((signal) => compute<Gated>("parts", { document, options: {} }, signal), JSON.stringify(document));
    const names = (key: "foot" | "adapter"): string[] => [...new Set(parts.value?.pairs.map((one) => one[key]).filter((name) => name !== "fitted") ?? [])];
    const put = (place: number, change: Partial<OneChoice>): void => setChoices(choices.map((one, number) => (number === place ? { ...one, ...change } : one)));
    const ready = model !== null && choices.every((one) => one.sheet_mm !== null);
    return (
        <section class="choices" aria-label="Choices before forming">
            <h2>Choices before forming</h2>
            <NumberField words="Model's diameter at the pylon" measure="mm" required value={model} low={10} high={120} onValue={setModel} />
            <div class="side-by-side">
                {choices.map((choice, place) => (
                    <fieldset class="group" key={place}>
                        <legend>Choice {place + 1}</legend>
                        <NumberField words={`Sheet, choice ${place + 1}`} measure="mm" step={0.5} required value={choice.sheet_mm} low={1} high={25} onValue={(sheet_mm) => put(place, { sheet_mm })} />
                        <Choice words={`Material, choice ${place + 1}`} value={choice.material} choices={cards.map((value) => ({ value, words: value }))} onValue={(material) => put(place, { material })} />
                        <Pick words={`Foot, choice ${place + 1}`} value={choice.foot} names={names("foot")} onValue={(foot) => put(place, { foot })} />
                        <Pick words={`Adapter, choice ${place + 1}`} value={choice.adapter} names={names("adapter")} onValue={(adapter) => put(place, { adapter })} />
                        {choices.length > 2 && <Press onPress={() => setChoices(choices.filter((_, number) => number !== place))}>Take out</Press>}
                    </fieldset>
                ))}
            </div>
            {choices.length < most && <Press onPress={() => setChoices([...choices, { ...(choices[choices.length - 1] as OneChoice) }])}>Another choice</Press>}
            {ready ? <Answer document={document} choices={choices} model={model} parts={parts.value} /> : <p class="note">Sheet and model's diameter are wanted.</p>}
        </section>
    );
}
