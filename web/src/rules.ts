// SPDX-License-Identifier: GPL-3.0-or-later
// The rules of the stages, as the server holds them (data/stages.json): what a form for each kind of fact needs.
import { get } from "./api.ts";
import type { Json, Role } from "./contract.ts";

export interface FactField {
    name: string;
    words: string;
    type: "number" | "word" | "flag" | "text" | "date" | "hash" | "list" | "object" | "whole" | "any";
    unit: string | null;
    low: number | null;
    high: number | null;
    required: boolean;
    choices: string[];
    into: string | null;
    fields: FactField[];
}

export interface FactKind {
    kind: string;
    stage: string;
    title: string;
    fields: FactField[];
    record: Role[];
    sign: string | null;
    resets: string[];
}

export interface StageRule {
    name: string;
    row: string;
    title: string;
    asks: string;
    undoing: string;
    small_print: string[];
    sign: string | null;
    loads: boolean;
}

export interface Rules {
    stages: StageRule[];
    facts: FactKind[];
}

type Raw = { [key: string]: unknown };
const text = (value: unknown): string => (typeof value === "string" ? value : "");
const list = <T>(value: unknown): T[] => (Array.isArray(value) ? (value as T[]) : []);
const amount = (value: unknown): number | null => (typeof value === "number" ? value : null);

function field(raw: Raw): FactField {
    const type = text(raw.type);
    const numeric = type === "number" || (type === "" && (raw.min !== undefined || raw.low !== undefined || typeof raw.unit === "string"));
    return {
        name: text(raw.field) || text(raw.name),
        words: text(raw.label) || text(raw.words) || text(raw.name).replace(/_/g, " "),
        type: (numeric ? "number" : type || "text") as FactField["type"],
        unit: text(raw.unit) || null,
        low: amount(raw.min) ?? amount(raw.low),
        high: amount(raw.max) ?? amount(raw.high),
        required: raw.required === true,
        choices: list<string>(raw.words),
        into: text(raw.into) || null,
        fields: list<Raw>(raw.fields).map(field),
    };
}

function normal(raw: Raw): Rules {
    return {
        stages: list<Raw>(raw.stages).map((one) => ({
            name: text(one.stage) || text(one.name),
            row: text(one.row),
            title: text(one.title),
            asks: text(one.asks),
            undoing: text(one.undoing),
            small_print: list<string>(one.small_print),
            sign: text(one.sign) || null,
            loads: one.loads === true,
        })),
        facts: list<Raw>(raw.facts).map((one) => ({
            kind: text(one.kind),
            stage: text(one.stage),
            title: text(one.title),
            fields: list<Raw>(one.fields).map(field),
            record: list<Role>(one.record),
            sign: text(one.sign) || null,
            resets: list<string>(one.resets),
        })),
    };
}

let rules: Promise<Rules> | null = null;
/** Asked for once; again when the asking failed. */
export function stageRules(): Promise<Rules> {
    rules ??= get<Raw>("stages").then(normal, (problem) => {
        rules = null;
        throw problem;
    });
    return rules;
}

/** A word of the record as it is read: "with-reservation" becomes "with reservation". */
export const plain = (word: string): string => word.replace(/[-_]/g, " ");

/** One value of a recorded fact in a few words. */
export function said(value: Json): string {
    if (value === null) return "—";
    if (value === true) return "yes";
    if (value === false) return "no";
    if (typeof value === "number") return String(Number(value.toFixed(3)));
    if (typeof value === "string") return /^[0-9a-f]{40,}$/.test(value) ? "a picture" : plain(value);
    if (Array.isArray(value)) return value.map(said).join(", ");
    return Object.entries(value)
        .filter(([, below]) => below !== null)
        .map(([name, below]) => `${plain(name)} ${said(below as Json)}`)
        .join(", ");
}
