// SPDX-License-Identifier: GPL-3.0-or-later
// What was typed while no network was there: kept on this device under the key that the server will know it by, shown, and
// sent when an answer comes again. An entry leaves the box only when the server has taken it or a person throws it away.
import { call, NoNetwork, newKey, Refusal } from "./api.ts";

export interface Waiting {
    key: string;
    person: number;
    initials: string;
    path: string;
    body: unknown;
    /** What it is, for a person: "standing, invented 12". */
    words: string;
    limb: string | null;
    typed_at: string;
    /** Why the server would not take it; null while it waits. */
    refused: string | null;
}

const place = "standfast-outbox";
let box: Waiting[] = load();
const listeners = new Set<() => void>();

function load(): Waiting[] {
    try {
        return JSON.parse(localStorage.getItem(place) ?? "[]") as Waiting[];
    } catch {
        return [];
    }
}

function keep(next: Waiting[]): void {
    box = next;
    localStorage.setItem(place, JSON.stringify(box));
    for (const listener of listeners) listener();
}

export const waiting = (): Waiting[] => box;
export function onOutbox(listener: () => void): () => void {
    listeners.add(listener);
    return () => listeners.delete(listener);
}
export const throwAway = (key: string): void => keep(box.filter((entry) => entry.key !== key));
addEventListener("storage", (event) => {
    if (event.key !== place) return;
    box = load();
    for (const listener of listeners) listener();
});

/** Sends a POST, or keeps it when no answer comes. Null: it is kept. A refusal is thrown to whoever typed it. */
export async function send<T>(entry: { person: number; initials: string; path: string; body: unknown; words: string; limb: string | null }): Promise<T | null> {
    const key = newKey();
    try {
        return await call<T>("POST", entry.path, entry.body, { key, patience: 8000 });
    } catch (problem) {
        if (!(problem instanceof NoNetwork)) throw problem;
        keep([...box, { ...entry, key, typed_at: new Date().toISOString(), refused: null }]);
        return null;
    }
}

let sending = false;
/** Sends what waits of this person, in the order in which it was typed. True when something went out. */
export async function flush(person: number): Promise<boolean> {
    if (sending) return false;
    sending = true;
    let sent = false;
    try {
        for (const entry of box.filter((one) => one.person === person && one.refused === null)) {
            try {
                await call("POST", entry.path, entry.body, { key: entry.key, patience: 8000 });
                throwAway(entry.key);
                sent = true;
            } catch (problem) {
                if (!(problem instanceof Refusal)) break;
                // Signing that waits and a server that is busy are no refusals: the entry stays as it is.
                if ([401, 403, 423, 429, 503, 507].includes(problem.status)) break;
                keep(box.map((one) => (one.key === entry.key ? { ...one, refused: `${problem.what} ${problem.mend}` } : one)));
            }
        }
    } finally {
        sending = false;
    }
    return sent;
}
