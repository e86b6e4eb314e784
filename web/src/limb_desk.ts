// SPDX-License-Identifier: GPL-3.0-or-later
// One limb on the desk: loaded, changed field by field, facts recorded. Two editors: a change is a list of fields, and what
// the other one did not touch is put on top of theirs; where both touched one field, the person decides.
import { useEffect, useRef, useState } from "preact/hooks";
import { call, get, NoNetwork, Refusal } from "./api.ts";
import { serverTime } from "./clock.ts";
import type { Fact, Json, Limb, LimbDocument, LimbState } from "./contract.ts";
import { onOutbox, send } from "./outbox.ts";
import { current } from "./session.ts";

/** ["person", "body_mass_kg"] becomes 80; undefined takes the field out. */
export interface Change {
    path: (string | number)[];
    value: Json | undefined;
}

export interface Clash {
    mine: Change[];
    base: LimbDocument;
    theirs: { version: number; document: LimbDocument };
    fields: { path: (string | number)[]; mine: unknown; theirs: unknown }[];
}

type Node = { [key: string]: unknown };

export function valueAt(document: unknown, path: (string | number)[]): unknown {
    let node: unknown = document;
    for (const name of path) {
        if (node === null || typeof node !== "object") return undefined;
        node = (node as Node)[name];
    }
    return node;
}

/** A copy of the document with the changes in it. */
export function changed(document: LimbDocument, changes: Change[]): LimbDocument {
    const copy = structuredClone(document) as unknown as Node;
    for (const { path, value } of changes) {
        let node: Node = copy;
        path.slice(0, -1).forEach((name, place) => {
            const below = node[name];
            if (below === null || typeof below !== "object") node[name] = typeof path[place + 1] === "number" ? [] : {};
            node = node[name] as Node;
        });
        const last = path[path.length - 1];
        if (value === undefined) delete node[last];
        else node[last] = value;
    }
    return copy as unknown as LimbDocument;
}

const same = (one: unknown, other: unknown): boolean => JSON.stringify(one ?? null) === JSON.stringify(other ?? null);

export interface Desk {
    limb: Limb | null;
    problem: unknown;
    saving: boolean;
    clash: Clash | null;
    said: string;
    save: (changes: Change[]) => Promise<boolean>;
    solve: (mine: boolean[]) => Promise<boolean>;
    leaveClash: () => void;
    record: (kind: string, body: { [key: string]: Json }, words: string, happened_at?: string) => Promise<"sent" | "kept">;
    again: () => void;
    take: (part: { version?: number; state?: LimbState }) => void;
}

/** Now, and not before what is known to be written down within the last seconds: the order is the one in which it was seen. */
function afterAll(facts: Fact[]): string {
    const now = Date.parse(serverTime());
    const soon = facts.filter((fact) => fact.happened_at.length > "2026-11-25".length).map((fact) => Date.parse(fact.happened_at)).filter((time) => time < now + 3000);
    return new Date(Math.max(now, ...soon)).toISOString();
}

/** `part`: where on the sheet the person is; going elsewhere looks at the store anew, and so does coming back to the page. */
export function useDesk(id: string, part: string): Desk {
    const [limb, setLimb] = useState<Limb | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const [saving, setSaving] = useState(false);
    const [clash, setClash] = useState<Clash | null>(null);
    const [said, setSaid] = useState("");
    const newest = useRef<Limb | null>(null);
    const reading = useRef<AbortController | null>(null);
    /** What the desk holds, at once for whoever asks, and shown. */
    const lay = (next: Limb): void => {
        newest.current = next;
        setLimb(next);
    };
    /** Looks at the store. One look at a time: what was asked for before a write is never laid over what the write answered. */
    const again = (): void => {
        reading.current?.abort();
        const quit = new AbortController();
        reading.current = quit;
        get<Limb>(`limbs/${encodeURIComponent(id)}`, quit.signal).then(
            (next) => {
                if (quit.signal.aborted) return;
                lay(next);
                setProblem(null);
            },
            (wrong) => {
                if (!quit.signal.aborted) setProblem(wrong);
            },
        );
    };
    /** Lays part of a write's answer on the desk, then looks at the store for the whole. */
    const wrote = (part: (now: Limb) => Limb): void => {
        reading.current?.abort();
        if (newest.current) lay(part(newest.current));
        again();
    };

    useEffect(() => {
        again();
        return () => reading.current?.abort();
    }, [id, part]);
    useEffect(() => {
        const look = (): void => {
            if (!document.hidden) again();
        };
        document.addEventListener("visibilitychange", look);
        return () => document.removeEventListener("visibilitychange", look);
    }, [id]);
    useEffect(() => onOutbox(again), [id]);

    const put = async (document: LimbDocument, version: number): Promise<Limb> =>
        call<Limb>("PUT", `limbs/${encodeURIComponent(id)}`, { document }, { version });

    const attempt = async (base: LimbDocument, changes: Change[], onto: { version: number; document: LimbDocument }, tries: number): Promise<boolean> => {
        try {
            const next = await put(changed(onto.document, changes), onto.version);
            // A fact that was answered meanwhile, or a later save, is not covered by an answer from before it.
            wrote((now) => (next.version >= now.version && next.facts.length >= now.facts.length ? next : now));
            setProblem(null);
            if (onto.document !== base) setSaid("Somebody else saved this limb meanwhile. Your fields were put on top; theirs are kept.");
            return true;
        } catch (wrong) {
            if (!(wrong instanceof Refusal) || wrong.status !== 409 || !wrong.current || tries <= 0) throw wrong;
            const theirs = wrong.current;
            const fields = changes
                .filter(({ path, value }) => !same(valueAt(base, path), valueAt(theirs.document, path)) && !same(valueAt(theirs.document, path), value))
                .map(({ path, value }) => ({ path, mine: value, theirs: valueAt(theirs.document, path) }));
            if (fields.length === 0) return attempt(base, changes, theirs, tries - 1);
            setClash({ mine: changes, base, theirs, fields });
            return false;
        }
    };

    const save = async (changes: Change[]): Promise<boolean> => {
        const now = newest.current;
        if (!now || changes.length === 0) return true;
        setSaving(true);
        setSaid("");
        try {
            return await attempt(now.document, changes, { version: now.version, document: now.document }, 3);
        } catch (wrong) {
            setProblem(wrong);
            return false;
        } finally {
            setSaving(false);
        }
    };

    const solve = async (mine: boolean[]): Promise<boolean> => {
        if (!clash) return true;
        const drop = new Set(clash.fields.filter((_, place) => !mine[place]).map(({ path }) => path.join("/")));
        const left = clash.mine.filter(({ path }) => !drop.has(path.join("/")));
        const { theirs } = clash;
        setClash(null);
        if (left.length === 0) {
            again();
            return true;
        }
        try {
            return await attempt(theirs.document, left, theirs, 3);
        } catch (wrong) {
            setProblem(wrong);
            return false;
        }
    };

    const record = async (kind: string, body: { [key: string]: Json }, words: string, happened_at?: string): Promise<"sent" | "kept"> => {
        const me = current();
        const answer = await send<{ fact: Fact; version: number; state: LimbState }>({
            person: me?.person.id ?? 0,
            initials: me?.person.initials ?? "",
            path: `limbs/${encodeURIComponent(id)}/facts`,
            body: { kind, happened_at: happened_at ?? afterAll(newest.current?.facts ?? []), body },
            words,
            limb: id,
        });
        if (answer === null) return "kept";
        wrote((now) => {
            const later = now.facts.some((fact) => fact.id > answer.fact.id);
            const facts = now.facts.some((fact) => fact.id === answer.fact.id) ? now.facts : [...now.facts, answer.fact];
            return later ? { ...now, facts } : { ...now, version: answer.version, state: answer.state, facts };
        });
        return "sent";
    };

    return {
        limb,
        problem: problem instanceof NoNetwork && limb ? null : problem,
        saving,
        clash,
        said,
        save,
        solve,
        leaveClash: () => setClash(null),
        record,
        again,
        take: (part) => wrote((now) => ({ ...now, version: part.version ?? now.version, state: part.state ?? now.state })),
    };
}
