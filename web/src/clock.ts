// SPDX-License-Identifier: GPL-3.0-or-later
// The server's clock as the page knows it: when a fact happened decides the order of the stages, so two facts that are
// written down within a second must not change places.

let ahead = -Infinity;
let last = 0;

/**
 * From one answer: its Date (cut to whole seconds by HTTP), and when it was asked and answered by the clock here, in ms.
 * The Date tells a least and a most by which the server is ahead; the greatest least is kept. When that is more than the
 * newest most, one of the clocks was set, and the count begins anew.
 */
export function readClock(date: number, asked: number, answered: number): void {
    if (!Number.isFinite(date)) return;
    const least = date - answered;
    ahead = ahead > date + 1000 - asked ? least : Math.max(ahead, least);
}

/** Now by the server's clock, never ahead of it and never going back. */
export function serverTime(): string {
    const now = Date.now() + (Number.isFinite(ahead) ? ahead : -1000);
    // More than a minute back is a clock that was set.
    last = now < last && last - now < 60000 ? last : now;
    return new Date(last).toISOString();
}
