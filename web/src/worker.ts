// SPDX-License-Identifier: GPL-3.0-or-later
// Keeps the page itself (never a limb, never a person) so that a tablet that is woken without a network still opens, shows
// what waits to be sent, and takes new entries. The server is asked first; what is kept is only the fall-back.
const place = "standfast-page";
const files = ["/", "/page.js", "/sheet.css", "/mark.svg", "/b612-regular.woff2", "/b612-bold.woff2"];

interface Waitable extends Event {
    waitUntil(work: Promise<unknown>): void;
}
interface Fetching extends Waitable {
    request: Request;
    respondWith(answer: Promise<Response>): void;
}

addEventListener("install", (event) => (event as Waitable).waitUntil(caches.open(place).then((kept) => kept.addAll(files))));
addEventListener("fetch", (plain) => {
    const event = plain as Fetching;
    const url = new URL(event.request.url);
    if (event.request.method !== "GET" || url.origin !== location.origin || !files.includes(url.pathname)) return;
    event.respondWith(
        fetch(event.request)
            .then((answer) => {
                const copy = answer.clone();
                if (answer.ok) event.waitUntil(caches.open(place).then((kept) => kept.put(url.pathname, copy)));
                return answer;
            })
            .catch(async (problem) => {
                const kept = await caches.match(url.pathname);
                if (kept) return kept;
                throw problem;
            }),
    );
});
