// SPDX-License-Identifier: GPL-3.0-or-later
// One limb on the desk: loaded, changed field by field, facts recorded. Two editors: a change is a list of fields, and what
// the other one did not touch is put on top of theirs; where both touched one field, the person decides.
import { useEffect, useRef, useState } from "preact/hooks";
import { call, get, NoNetwork, Refusal, serverTime } from "./api.ts";
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

/** `part`: where on the sheet the person is; going elsewhere looks at the store anew, and so does coming back to the page. */
export function useDesk(id: string, part: string): Desk {
    const [limb, setLimb] = useState<Limb | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const [saving, setSaving] = useState(false);
    const [clash, setClash] = useState<Clash | null>(null);
    const [said, setSaid] = useState("");
    const [round, setRound] = useState(0);
    const newest = useRef<Limb | null>(null);
    newest.current = limb;

    useEffect(() => {
        const quit = new AbortController();
        get<Limb>(`limbs/${encodeURIComponent(id)}`, quit.signal).then(
            (next) => {
                setLimb(next);
                setProblem(null);
            },
            (wrong) => {
                if (!quit.signal.aborted) setProblem(wrong);
            },
        );
        return () => quit.abort();
    }, [id, round, part]);
    useEffect(() => {
        const look = (): void => {
            if (!document.hidden) setRound((now) => now + 1);
        };
        document.addEventListener("visibilitychange", look);
        return () => document.removeEventListener("visibilitychange", look);
    }, []);
    useEffect(() => onOutbox(() => setRound((now) => now + 1)), []);

    const put = async (document: LimbDocument, version: number): Promise<Limb> =>
        call<Limb>("PUT", `limbs/${encodeURIComponent(id)}`, { document }, { version });

    const attempt = async (base: LimbDocument, changes: Change[], onto: { version: number; document: LimbDocument }, tries: number): Promise<boolean> => {
        try {
            const next = await put(changed(onto.document, changes), onto.version);
            setLimb(next);
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
            setRound((now) => now + 1);
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
            body: { kind, happened_at: happened_at ?? serverTime(), body },
            words,
            limb: id,
        });
        if (answer === null) return "kept";
        setLimb((now) => (now ? { ...now, version: answer.version, state: answer.state, facts: [...now.facts, answer.fact] } : now));
        setRound((now) => now + 1);
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
        again: () => setRound((now) => now + 1),
        take: (part) => setLimb((now) => (now ? { ...now, version: part.version ?? now.version, state: part.state ?? now.state } : now)),
    };
}
