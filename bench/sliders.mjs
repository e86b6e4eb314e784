// SPDX-License-Identifier: GPL-3.0-or-later
// How soon the strength view answers a slider: from the thumb's move, as the browser received it, to the frame that shows the
// number computed for that place or a later one. One line for single steps, one for a drag at 60 moves a second.
// Usage: STANDFAST=build-release/standfast node bench/sliders.mjs     exit 1 when the middle of either is over 100 ms
import { cpus, loadavg } from "node:os";
import { launch, open, quiet, serve, sizes } from "../tests/web/drive.mjs";
import { byHttp, signIn } from "../tests/web/shop.mjs";

const GOAL_MS = 100; // below it the thumb feels an answer as at once (judgement, the shop's wish)
const part = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];

const server = await serve({ demo: true });
const browser = await launch();
let missed = false;
try {
    const desk = await open(browser, server, sizes[1]);
    const { page } = desk;
    const http = await byHttp(server, server.person);
    const limbs = (await http("GET", "limbs?count=200")).json.limbs;
    const limb = limbs.find((one) => one.stage === "cut") ?? limbs[0];
    await signIn(desk, server, server.person);
    await desk.hands.go("limb", String(limb.id), "strength");
    const slide = page.getByRole("slider", { name: "Body mass" });
    await slide.waitFor();
    await quiet(page);
    await page.evaluate(() => {
        const log = (globalThis.measured = { moves: [], asks: [] });
        const plain = globalThis.fetch;
        globalThis.fetch = async (address, options) => {
            if (!String(address).endsWith("compute/strength")) return plain(address, options);
            const ask = { at: performance.now(), shown: null };
            log.asks.push(ask);
            return plain(address, options);
        };
        document.querySelector(".compare input[type=range]").addEventListener("input", (event) => log.moves.push(event.timeStamp), { capture: true });
        // An answer that has come is in the page when the note of how long it took changes; it is seen with the next frame.
        new MutationObserver(() => {
            const answered = log.asks.filter((ask) => ask.shown === null)[0];
            if (!answered) return;
            answered.shown = Infinity;
            requestAnimationFrame(() => setTimeout(() => (answered.shown = performance.now())));
        }).observe(document.querySelector(".compare .note"), { subtree: true, childList: true, characterData: true, attributes: true });
    });
    /** Move by move, how long until an answer that was asked for at or after it is seen. */
    const delays = () =>
        page.evaluate(() => {
            const { moves, asks } = globalThis.measured;
            const list = moves.map((at) => (asks.find((ask) => ask.at >= at && ask.shown !== null && Number.isFinite(ask.shown))?.shown ?? NaN) - at);
            globalThis.measured.moves = [];
            globalThis.measured.asks = [];
            return list.filter(Number.isFinite);
        });
    const say = (words, list) => {
        list.sort((one, other) => one - other);
        const middle = part(list, 0.5);
        console.log(`${words}: middle ${middle.toFixed(0)} ms, 90 in 100 within ${part(list, 0.9).toFixed(0)} ms, ${list.length} moves`);
        if (!(middle < GOAL_MS)) missed = true;
    };
    console.log(`load ${loadavg()[0].toFixed(1)} on ${cpus().length} processors; goal: the middle under ${GOAL_MS} ms`);

    await slide.focus();
    for (let step = 0; step < 30; step++) {
        await page.keyboard.press(step % 6 < 3 ? "ArrowRight" : "ArrowLeft");
        await quiet(page);
    }
    say("one step, and wait", await delays());

    const box = await slide.boundingBox();
    const y = box.y + box.height / 2;
    const at = (share) => box.x + 10 + share * (box.width - 20);
    await page.mouse.move(at(0.4), y);
    await page.mouse.down();
    for (let move = 0; move < 180; move++) {
        const began = performance.now();
        await page.mouse.move(at(0.5 + 0.3 * Math.sin(move / 20)), y);
        const rest = 1000 / 60 - (performance.now() - began);
        if (rest > 0) await new Promise((done) => setTimeout(done, rest));
    }
    await page.mouse.up();
    await quiet(page);
    say("while dragging", await delays());
} finally {
    await browser.close();
    await server.stop();
}
process.exit(missed ? 1 : 0);
