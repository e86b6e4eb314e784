// SPDX-License-Identifier: GPL-3.0-or-later
// Calls to the server. A refusal is thrown as it came, with field and mend; a lost network is a kind of its own.
import { readClock } from "./clock.ts";
import type { Json, LimbDocument } from "./contract.ts";

export class Refusal extends Error {
    constructor(
        readonly status: number,
        readonly field: string,
        readonly what: string,
        readonly mend: string,
        readonly problems: { field: string; what: string }[] = [],
        readonly current: { version: number; document: LimbDocument } | null = null,
    ) {
        super(what);
    }
}

/** No answer came: nobody knows whether the request arrived. The same key makes it harmless to ask again. */
export class NoNetwork extends Error {
    constructor() {
        super("No answer from the server.");
    }
}

let csrf = "";
export const setCsrf = (token: string): void => {
    csrf = token;
};

let lost = false;
const listeners = new Set<(lost: boolean) => void>();
/** Tells whenever the network goes or comes back. */
export function onNetwork(listener: (lost: boolean) => void): () => void {
    listeners.add(listener);
    return () => listeners.delete(listener);
}
export const networkLost = (): boolean => lost;
function mark(now: boolean): void {
    if (now === lost) return;
    lost = now;
    for (const listener of listeners) listener(lost);
}

let onSignedOut: () => void = () => {};
export const whenSignedOut = (act: () => void): void => {
    onSignedOut = act;
};

let asking = 0;
/** How many answers are still waited for, on the page itself: what is printed or pictured waits until there are none. */
async function counted<T>(work: () => Promise<T>): Promise<T> {
    document.documentElement.dataset.asking = String(++asking);
    try {
        return await work();
    } finally {
        if (--asking === 0) delete document.documentElement.dataset.asking;
        else document.documentElement.dataset.asking = String(asking);
    }
}

export const newKey = (): string => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
};

export interface CallOptions {
    key?: string;
    version?: number;
    signal?: AbortSignal;
    /** Milliseconds after which an answer is no longer waited for. */
    patience?: number;
}

async function ask(method: string, path: string, body: unknown, options: CallOptions): Promise<Response> {
    const headers: Record<string, string> = {};
    let payload: BodyInit | undefined;
    if (body instanceof Blob) {
        payload = body;
        headers["Content-Type"] = body.type || "application/octet-stream";
    } else if (body !== undefined) {
        payload = JSON.stringify(body);
        headers["Content-Type"] = "application/json";
    }
    if (method !== "GET") {
        if (csrf) headers["X-CSRF-Token"] = csrf;
        if (method !== "DELETE") headers["Idempotency-Key"] = options.key ?? newKey();
    }
    if (options.version !== undefined) headers["If-Match"] = String(options.version);
    const quit = new AbortController();
    const timer = setTimeout(() => quit.abort(), options.patience ?? 60000);
    options.signal?.addEventListener("abort", () => quit.abort());
    const asked = Date.now();
    try {
        const answer = await fetch(`/api/${path}`, { method, headers, body: payload, signal: quit.signal, credentials: "same-origin", cache: "no-store" });
        mark(false);
        readClock(Date.parse(answer.headers.get("Date") ?? ""), asked, Date.now());
        return answer;
    } catch (problem) {
        if (options.signal?.aborted) throw problem;
        mark(true);
        throw new NoNetwork();
    } finally {
        clearTimeout(timer);
    }
}

async function refuse(answer: Response, path: string): Promise<never> {
    let error: { [key: string]: unknown } = {};
    try {
        error = ((await answer.json()) as { error: { [key: string]: unknown } }).error ?? {};
    } catch {
        // An answer without a body still has its status.
    }
    if (answer.status === 401 && path !== "me" && path !== "sign-in") onSignedOut();
    throw new Refusal(
        answer.status,
        String(error.field ?? ""),
        String(error.what ?? `The server answered ${answer.status}.`),
        String(error.mend ?? ""),
        (error.problems as { field: string; what: string }[]) ?? [],
        (error.current as { version: number; document: LimbDocument }) ?? null,
    );
}

export function call<T>(method: "GET" | "POST" | "PUT" | "DELETE", path: string, body?: unknown, options: CallOptions = {}): Promise<T> {
    return counted(async () => {
        const answer = await ask(method, path, body, options);
        if (!answer.ok) await refuse(answer, path);
        return (answer.status === 204 ? null : await answer.json()) as T;
    });
}

export const get = <T>(path: string, signal?: AbortSignal): Promise<T> => call<T>("GET", path, undefined, { signal });

/** A drawing as SVG text. */
export function drawing(path: string, body?: unknown, signal?: AbortSignal): Promise<string> {
    return counted(async () => {
        const answer = await ask(body === undefined ? "GET" : "POST", path, body, { signal });
        if (!answer.ok) await refuse(answer, path);
        return answer.text();
    });
}

export type Options = { [key: string]: Json };
export const compute = <T>(name: string, body: { [key: string]: unknown }, signal?: AbortSignal): Promise<T> =>
    call<T>("POST", `compute/${name}`, body, { signal });
