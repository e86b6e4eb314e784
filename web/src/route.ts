// SPDX-License-Identifier: GPL-3.0-or-later
// Addresses within the page: #/limb/K7QF/ring. The part before the first stroke is the view.
import { useEffect, useState } from "preact/hooks";

export const parts = (): string[] =>
    location.hash
        .replace(/^#\/?/, "")
        .split("/")
        .filter((part) => part !== "")
        .map(decodeURIComponent);

export const to = (...names: (string | number)[]): string => `#/${names.map((name) => encodeURIComponent(String(name))).join("/")}`;

export function go(...names: (string | number)[]): void {
    location.hash = to(...names);
}

export function useRoute(): string[] {
    const [route, setRoute] = useState(parts());
    useEffect(() => {
        const follow = (): void => setRoute(parts());
        addEventListener("hashchange", follow);
        return () => removeEventListener("hashchange", follow);
    }, []);
    return route;
}
