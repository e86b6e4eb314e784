// SPDX-License-Identifier: GPL-3.0-or-later
// What the server says and takes: docs/api.md as types. Only what the page reads stands here.

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type Side = "left" | "right";
export type Role = "prosthetist" | "technician" | "reader" | "admin";
export type UnitsKind = "metric" | "inch";

export interface Person {
    id: number;
    name: string;
    initials: string;
    role: Role;
    licence: string | null;
    units: UnitsKind;
    active: boolean;
    has_pin: boolean;
    locked_until: string | null;
}

export interface Me {
    person: Person;
    csrf: string;
    expires: string;
    signing: boolean;
    signing_why: string | null;
    version: string;
}

export interface About {
    version: string;
    first_admin: boolean;
    tls: boolean;
    demo: boolean;
    safety: string;
}

/** A limb file, standfast-limb/1; docs/limb.schema.json says what may stand in it. */
export interface LimbDocument {
    format: "standfast-limb/1";
    person: { side: Side; body_mass_kg: number; label?: string | null; birth_date?: string | null; [key: string]: unknown };
    pylon?: { sheet_lot?: string | null; cut_height_mm?: number | null; top_height_mm?: number | null; [key: string]: unknown } | null;
    [key: string]: unknown;
}

export type StageState = "done" | "open" | "shut" | "again";

export interface Stage {
    name: string;
    title: string;
    state: StageState;
    needs: { text: string; met: boolean; for?: "open" | "done"; hard?: boolean; soft?: boolean; why?: string | null }[];
    why_shut: string | null;
    opens_by: string | null;
}

export interface Flag {
    code: string;
    text: string;
    since?: string | null;
    fact?: number | null;
    grave?: boolean;
    kept?: boolean;
}

export interface LimbState {
    stages: Stage[];
    next_action: { stage: string | null; text: string | null } | null;
    flags: Flag[];
    due: { what: string; date: string; rule?: string; overdue?: boolean; short_mm?: number }[];
    out_of_use: boolean;
    may_be_loaded: boolean;
    may_walk?: boolean;
    may_go_home: boolean;
    before_walk?: string | null;
    out_of_order?: number[];
}

export interface Fact {
    id: number;
    kind: string;
    happened_at: string;
    recorded_at: string;
    who: { id: number; initials: string } | null;
    body: { [key: string]: Json };
    /** Whether who wrote it down could sign it; a later fact of kind "signature" signs it as well. */
    signs?: boolean;
    role?: Role;
    out_of_order?: boolean;
    withdrawn_by: number | null;
}

export interface RingRow {
    n: number;
    fact: number | null;
    picture: string | null;
    media_type?: string | null;
    height_mm: number | null;
    decision: string | null;
    posterior_deg?: number | null;
    face?: string | null;
    ring_number?: string | null;
    withdrawn?: boolean;
}

export interface Limb {
    id: string;
    wearer: string | number | null;
    version: number;
    /** Null in an answer once the wearer's data was removed; no view of a stage is shown then. */
    document: LimbDocument;
    facts: Fact[];
    rings: RingRow[];
    state: LimbState;
}

export interface LimbRow {
    id: string;
    label: string;
    side: Side;
    version: number;
    made_at: string;
    changed_at: string;
    sheet_lot: string | null;
    stage: string;
    next_action: string | null;
    next_due: string | null;
    flags: (string | Flag)[];
}

export interface Shop {
    as_of: string;
    due: { limb: string; label: string; side?: Side; what: string; date: string; overdue: boolean; rule: string | null; short_mm: number | null }[];
    next: { limb: string; label: string; side: Side; stage: string; action: string; flags: (string | Flag)[] }[];
    look: { limb: string; label: string; ring: number; decision: string }[];
    counts: { limbs: number; at_home: number };
}

export interface FactField {
    name: string;
    words?: string;
    unit?: string | null;
    type?: string;
    low?: number | null;
    high?: number | null;
    required?: boolean;
    choices?: string[];
}

export interface FactKind {
    kind: string;
    stage: string;
    title: string;
    fields: FactField[];
    record: Role[];
    sign: Role[];
    resets?: string[];
}

export interface StageRules {
    stages: { name: string; title: string; undo?: string; note?: string; sign?: Role[]; loads?: boolean; [key: string]: unknown }[];
    facts: FactKind[];
}

export interface Reason {
    code: string;
    value: number | null;
    limit: number | null;
    unit: string | null;
    text: string;
    decision: Decision;
}

export type Decision = "accept" | "accept-with-limit" | "measure-again" | "reject";

/** docs/ring.schema.json */
export interface RingResult {
    decision: Decision | null;
    decision_words: string;
    decision_basis: string | null;
    evidence: string | null;
    body_weight: boolean;
    reasons: Reason[];
    causes: { code: string; likelihood: string; text: string }[];
    sharpen: string[];
    uncertainty: { [key: string]: { edge: number | null; scale: number | null } | null };
    centroid_mm: [number, number];
    limb_angles: { seam_deg?: number | null; [key: string]: unknown } | null;
    notes: string[];
    assumptions: string[];
    safety: string;
    dpi: number | null;
    [key: string]: unknown;
}

export interface RingAnswer {
    ring: number;
    fact: Fact;
    result: RingResult;
    version: number;
    state: LimbState;
}

export interface RingOutline {
    width_px: number;
    height_px: number;
    dpi: number;
    outer_mm: [number, number][];
    inner_mm: [number, number][];
    voids_mm: [number, number][][];
    unjoined_mm: [number, number][];
}

/** docs/strength.schema.json */
export interface StrengthCase {
    name: string;
    level: string;
    condition: string;
    force_kind: string;
    force_n: number;
    station_mm: number;
    direction_deg: number | null;
    moment_nm: number;
    elastic_stress_mpa: number;
    peak_von_mises_mpa: number;
    elastic_factor: number | null;
    collapse_factor: number | null;
    mechanism: string | null;
    elastic_band: [number, number] | null;
    collapse_band: [number, number] | null;
    governs: boolean;
    outside_standard?: boolean;
    comparison_only?: boolean;
}

export interface StrengthResult {
    cases: StrengthCase[];
    level_for_mass: string | null;
    mass_kg: number;
    temperatures: { temperature_c: number; level: string; case: string; elastic_factor: number | null; yield_mpa: number }[] | null;
    fatigue: { level: string; utilisation_1e6: number | null; utilisation_3e6: number | null; band: [number, number] | null; text: string } | null;
    walking: { force_n: number; elastic_factor: number | null; station_mm: number; text: string } | null;
    profile: { height_mm: number; outer_mm: number; inner_mm: number; moment_nm: number; stress_mpa: number; von_mises_mpa: number }[] | null;
    gates: { part: string; value: number; limit: number; unit: string; open: boolean }[];
    finding: string[];
    assumptions: string[];
    notes: string[];
    safety: string;
}
