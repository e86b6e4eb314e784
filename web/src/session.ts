// SPDX-License-Identifier: GPL-3.0-or-later
// Who is here, on this device. The look (light or dark) belongs to the device, the units to the person.
import { call, get, NoNetwork, Refusal, setCsrf } from "./api.ts";
import type { Me, Role, UnitsKind } from "./contract.ts";
import { setUnits } from "./units.ts";

let me: Me | null = null;
const listeners = new Set<() => void>();
export const current = (): Me | null => me;
export function onSession(listener: () => void): () => void {
    listeners.add(listener);
    return () => listeners.delete(listener);
}

export function settle(next: Me | null): void {
    me = next;
    setCsrf(next?.csrf ?? "");
    if (next) setUnits(next.person.units);
    for (const listener of listeners) listener();
}

/** Asks who is signed in; null when nobody is. A lost network leaves things as they are. */
export async function look(): Promise<void> {
    try {
        settle(await get<Me>("me"));
    } catch (problem) {
        if (problem instanceof Refusal && problem.status === 401) settle(null);
        else if (!(problem instanceof NoNetwork)) throw problem;
    }
}

export const may = (roles: Role[]): boolean => me !== null && roles.includes(me.person.role);
export const mayWrite = (): boolean => may(["prosthetist", "technician"]);

export async function changeUnits(next: UnitsKind): Promise<void> {
    if (!me) return;
    settle({ ...me, person: { ...me.person, units: next } });
    try {
        await call("PUT", `people/${me.person.id}`, { units: next });
    } catch (problem) {
        // Without a network the choice holds on this page.
        if (!(problem instanceof NoNetwork)) throw problem;
    }
}

export type Look = "light" | "dark";
export const lookNow = (): Look => {
    const chosen = document.documentElement.dataset.look;
    if (chosen === "light" || chosen === "dark") return chosen;
    return matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
};
export function changeLook(next: Look): void {
    document.documentElement.dataset.look = next;
    localStorage.setItem("standfast-look", next);
}
export function restoreLook(): void {
    const kept = localStorage.getItem("standfast-look");
    if (kept === "light" || kept === "dark") document.documentElement.dataset.look = kept;
}
