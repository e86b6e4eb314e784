// SPDX-License-Identifier: GPL-3.0-or-later
// Metric inside, metric or inch-pound before the eye. Factors are exact by definition (NIST SP 811, appendix B).
import type { UnitsKind } from "./contract.ts";

/** What a number is; the key's own unit in the document is the metric one. */
export type Measure = "mm" | "mm2" | "mm4" | "kg" | "g" | "nm" | "n" | "mpa" | "deg" | "c" | "s" | "min" | "percent" | "ml" | "none";

const KG_PER_LB = 0.45359237;
const N_PER_LBF = 4.4482216152605;
const MM_PER_IN = 25.4;

interface Scale {
    unit: string;
    per: number; // metric value of one shown unit
    digits: number;
    add?: number;
}

const metric: Record<Measure, Scale> = {
    mm: { unit: "mm", per: 1, digits: 1 },
    mm2: { unit: "mm²", per: 1, digits: 0 },
    mm4: { unit: "mm⁴", per: 1, digits: 0 },
    kg: { unit: "kg", per: 1, digits: 1 },
    g: { unit: "g", per: 1, digits: 0 },
    nm: { unit: "N·m", per: 1, digits: 2 },
    n: { unit: "N", per: 1, digits: 0 },
    mpa: { unit: "MPa", per: 1, digits: 1 },
    deg: { unit: "°", per: 1, digits: 1 },
    c: { unit: "°C", per: 1, digits: 0 },
    s: { unit: "s", per: 1, digits: 2 },
    min: { unit: "min", per: 1, digits: 0 },
    percent: { unit: "%", per: 1, digits: 1 },
    ml: { unit: "ml", per: 1, digits: 0 },
    none: { unit: "", per: 1, digits: 2 },
};

const inch: Partial<Record<Measure, Scale>> = {
    mm: { unit: "in", per: MM_PER_IN, digits: 3 },
    mm2: { unit: "in²", per: MM_PER_IN ** 2, digits: 3 },
    mm4: { unit: "in⁴", per: MM_PER_IN ** 4, digits: 4 },
    kg: { unit: "lb", per: KG_PER_LB, digits: 1 },
    g: { unit: "lb", per: 1000 * KG_PER_LB, digits: 2 },
    nm: { unit: "lbf·in", per: N_PER_LBF * MM_PER_IN * 1e-3, digits: 1 },
    n: { unit: "lbf", per: N_PER_LBF, digits: 0 },
    mpa: { unit: "psi", per: 0.006894757293168361, digits: 0 },
    c: { unit: "°F", per: 1 / 1.8, digits: 0, add: 32 },
    ml: { unit: "fl oz", per: 29.5735295625, digits: 2 },
};

let kind: UnitsKind = "metric";
export const setUnits = (next: UnitsKind): void => {
    kind = next;
};
export const units = (): UnitsKind => kind;
const scale = (measure: Measure): Scale => (kind === "inch" && inch[measure]) || metric[measure];

export const unitOf = (measure: Measure): string => scale(measure).unit;

/** From the key's unit to the shown number. */
export const toShown = (value: number, measure: Measure): number => value / scale(measure).per + (scale(measure).add ?? 0);
export const fromShown = (value: number, measure: Measure): number => (value - (scale(measure).add ?? 0)) * scale(measure).per;

/** The number alone, as it is shown. */
export function number(value: number | null | undefined, measure: Measure, digits = scale(measure).digits): string {
    if (value === null || value === undefined || !Number.isFinite(value)) return "—";
    // Whole millimetres are asked for by many; whole inches would hide what they say.
    const text = toShown(value, measure).toFixed(unitOf(measure) === "in" ? Math.max(2, digits) : digits);
    return (/^-0\.?0*$/.test(text) ? text.slice(1) : text).replace("-", "−");
}

/** Number and unit. */
export function figure(value: number | null | undefined, measure: Measure, digits?: number): string {
    const text = number(value, measure, digits);
    const unit = unitOf(measure);
    return text === "—" || unit === "" ? text : unit === "°" ? text + unit : `${text} ${unit}`;
}

const inSentences: [RegExp, Measure, number][] = [
    [/(−|-)?(\d+(?:\.\d+)?) ?mm(?![\w²⁴/])/g, "mm", 1],
    [/(−|-)?(\d+(?:\.\d+)?) cm(?![\w²⁴/])/g, "mm", 10],
    [/(−|-)?(\d+(?:\.\d+)?) kg(?![\w/])/g, "kg", 1],
    [/(−|-)?(\d+(?:\.\d+)?) g(?![\w/])/g, "g", 1],
    [/(−|-)?(\d+(?:\.\d+)?) N(?:[·.]| )m(?![\w/])/g, "nm", 1],
    [/(−|-)?(\d+(?:\.\d+)?) MPa(?!\w)/g, "mpa", 1],
    [/(−|-)?(\d+(?:\.\d+)?) ?°C/g, "c", 1],
];
/** A key of the limb's file, as it stands in sentences for whoever edits the file itself. */
const fileKeys = /\b(?:document|person|foot|adapter|shoe|socket|pylon|alignment|spacers|holes)(?:\[\d+\])?(?:\.[a-z_]+)+\b/g;
/** A sentence of the server, its measures in this person's units. */
export function worded(text: string): string {
    const named = text.replace(fileKeys, (key) => (key.split(".").pop() ?? key).replace(/_(mm|kg|g|nm|n|deg|c|percent)$/, "").replaceAll("_", " "));
    if (kind !== "inch") return named;
    return inSentences.reduce((now, [pattern, measure, times]) => now.replace(pattern, (_, sign, value) => figure((sign ? -1 : 1) * Number(value) * times, measure)), named);
}

/** As it is typed: no trailing noughts, so that a stored value comes back as it went in. */
export function typed(value: number | null | undefined, measure: Measure): string {
    if (value === null || value === undefined || !Number.isFinite(value)) return "";
    const digits = kind === "inch" ? 4 : 3;
    return String(Number(toShown(value, measure).toFixed(digits)));
}

/** Reads what a person types: "6.2", "6,2", "-3", and in inches also "3/16" and "4 3/16". Null when it is no number. */
export function read(text: string, measure: Measure): number | null {
    const clean = text.trim().replace("−", "-").replace(",", ".");
    const parts = /^(-?)(?:(\d+(?:\.\d+)?)\s+)?(\d+)\/(\d+)$/.exec(clean);
    let value: number;
    if (parts) {
        value = Number(parts[2] ?? 0) + Number(parts[3]) / Number(parts[4]);
        if (parts[1] === "-") value = -value;
    } else {
        if (!/^-?(\d+\.?\d*|\.\d+)$/.test(clean)) return null;
        value = Number(clean);
    }
    if (!Number.isFinite(value)) return null;
    return Number(fromShown(value, measure).toPrecision(10));
}

/** The measure that a key's ending names: "wall_min_mm" is a length. */
export function measureOf(key: string): Measure {
    const ending = /_(mm4|mm2|mm|kg|g|nm|n|mpa|deg|c|s|min|percent|ml)$/.exec(key);
    return ending ? (ending[1] as Measure) : "none";
}

/** What a unit of a fact's field is called here. */
export function measureOfUnit(unit: string | null | undefined, name: string): Measure {
    switch (unit) {
        case "N.m": case "N m": case "N·m": return "nm";
        case "C": case "°C": return "c";
        case "N": return "n";
        case "%": return "percent";
        case null: case undefined: case "": return measureOf(name);
        default: return unit in metric ? (unit as Measure) : "none";
    }
}
/** Torque in three units at once, as the adapter's sheet may give any of them. */
export const torqueThrice = (nm: number): string =>
    `${nm.toFixed(1)} N·m = ${(nm / (N_PER_LBF * 0.3048)).toFixed(1)} lbf·ft = ${(nm / (N_PER_LBF * 0.0254)).toFixed(0)} lbf·in`;

export const day = (text: string | null | undefined): string => {
    if (!text) return "—";
    const date = new Date(text.length === 10 ? `${text}T12:00:00` : text);
    return Number.isNaN(date.getTime()) ? text : date.toLocaleDateString(undefined, { year: "numeric", month: "short", day: "numeric" });
};
export const moment = (text: string | null | undefined): string => {
    if (!text) return "—";
    const date = new Date(text);
    return Number.isNaN(date.getTime()) ? text : date.toLocaleString(undefined, { month: "short", day: "numeric", hour: "2-digit", minute: "2-digit" });
};
export const today = (): string => {
    const now = new Date();
    return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
};
