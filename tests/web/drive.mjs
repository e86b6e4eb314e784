// SPDX-License-Identifier: GPL-3.0-or-later
// Starts the real server on a store of its own and drives its page with Chromium; counts taps and keys; judges every view.
import { execFileSync, spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

export const root = process.env.TAP_ROOT ?? resolve(dirname(fileURLToPath(import.meta.url)), "../..");
export const require = createRequire(join(root, "web/package.json"));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
export const program = process.env.STANDFAST ?? join(root, "build/standfast");

export const sizes = [
    { name: "1024x768 touch", width: 1024, height: 768, touch: true },
    { name: "1440x900", width: 1440, height: 900, touch: false },
];

/** A started `standfast serve` on a store of its own: empty, or with `demo` the invented shop, whose sign-in it then says. */
export async function serve({ demo = false, args = [] } = {}) {
    const folder = mkdtempSync(join(tmpdir(), "standfast-web-"));
    const shop = demo ? JSON.parse(execFileSync(program, ["demo", "--store", join(folder, "store.sqlite"), "--json"], { encoding: "utf8" })) : null;
    if (demo) args = [...args, "--demo"];
    let said = "";
    let child;
    let gone;
    const start = async (port) => {
        child = spawn(program, ["serve", "--store", join(folder, "store.sqlite"), "--port", String(port), ...args], { stdio: ["ignore", "pipe", "pipe"], env: { ...process.env, LC_ALL: "C.UTF-8" } });
        let begun = "";
        const hear = (part) => ((begun += part), (said += part));
        child.stdout.on("data", hear);
        child.stderr.on("data", hear);
        const mine = child;
        gone = new Promise((done) => mine.on("exit", done));
        return new Promise((done, fail) => {
            const give = setTimeout(() => fail(new Error(`no address within 20 s: ${begun}`)), 20000);
            const look = () => {
                const at = /listens at (https?:\/\/[\d.:]+\/)/.exec(begun);
                const link = /(https?:\/\/\S+#first-admin=\S+)/.exec(begun);
                if (at && (link || demo || port !== 0)) {
                    clearTimeout(give);
                    done({ address: at[1], link: link?.[1] ?? null });
                } else if (mine.exitCode !== null) fail(new Error(`the server ended: ${begun}`));
                else setTimeout(look, 30);
            };
            look();
        });
    };
    const end = async () => {
        child.kill("SIGTERM");
        await Promise.race([gone, new Promise((done) => setTimeout(done, 3000))]);
        if (child.exitCode === null) child.kill("SIGKILL");
        await gone;
    };
    const found = await start(0);
    return {
        ...found,
        folder,
        person: shop && { name: shop.sign_in, password: shop.password, pin: shop.pin },
        said: () => said,
        /** Gone from the network, and back at the same address with the same store. */
        pause: end,
        resume: () => start(new URL(found.address).port),
        stop: async () => {
            await end();
            rmSync(folder, { recursive: true, force: true });
        },
    };
}

export const launch = () =>
    chromium.launch({
        executablePath: ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find(existsSync),
        // Nothing here is drawn on a card; without the attempt a run takes a sixth less of the processor.
        args: ["--disable-gpu", ...(process.getuid?.() === 0 ? ["--no-sandbox"] : [])],
    });

/** One tablet or one desk. `hands` does what a person does, and counts it. */
export async function open(browser, server, size, more = {}) {
    const context = await browser.newContext({ viewport: { width: size.width, height: size.height }, hasTouch: size.touch, serviceWorkers: "block", reducedMotion: "reduce", locale: "en-GB", colorScheme: "light", ...more });
    const page = await context.newPage();
    page.setDefaultTimeout(10000);
    const errors = [];
    // A refusal that the page asked for and shows is no error of the page.
    page.on("console", (line) => line.type() === "error" && !/Failed to load resource|ERR_INTERNET_DISCONNECTED|Service Worker/.test(line.text()) && errors.push(line.text()));
    page.on("pageerror", (error) => errors.push(String(error)));
    let taps = 0;
    let keys = 0;
    const find = (what) => (typeof what === "string" ? page.locator(what) : what);
    const hands = {
        press: async (what) => {
            taps++;
            await (size.touch ? find(what).tap() : find(what).click());
        },
        type: async (what, text) => {
            keys += String(text).length;
            await find(what).fill(String(text));
        },
        button: (name, exact = false) => page.getByRole("button", { name, exact }),
        word: (group, name) => page.getByRole("group", { name: group }).locator("label", { hasText: new RegExp(`^${name}$`) }),
        box: (name, exact = false) => page.getByLabel(name, { exact }).and(page.locator("input, textarea")).first(),
        counted: () => ({ taps, keys }),
        forget: () => {
            taps = 0;
            keys = 0;
        },
        go: async (...places) => {
            await page.goto(`${server.address}#/${places.map(encodeURIComponent).join("/")}`);
        },
    };
    return { context, page, errors, hands, size };
}

/**
 * Until nothing is asked of the server, nothing is still to be drawn, and no picture is still to come. A change of the page
 * asks its questions in the frame after it, so it must have been still for some frames.
 */
export const quiet = (page, patience = 30000) =>
    page.evaluate(async (patience) => {
        const began = performance.now();
        const frame = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
        const busy = () => {
            if (document.documentElement.dataset.asking) return `${document.documentElement.dataset.asking} answers are waited for`;
            const picture = [...document.images].find((one) => !one.complete);
            if (picture) return `the picture "${picture.alt}" is still to come`;
            return document.readyState === "complete" ? "" : "the page is being loaded";
        };
        for (let still = 0; still < 4; ) {
            await frame();
            const why = busy();
            still = why ? 0 : still + 1;
            if (performance.now() - began > patience) throw new Error(`the page has no rest within ${patience / 1000} s: ${why}`);
        }
    }, patience);

/** What axe-core finds on the view as it stands, by WCAG 2.2 A and AA. */
export async function judge(page) {
    if (!(await page.evaluate(() => "axe" in globalThis))) await page.evaluate(axe);
    const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], rules: { region: { enabled: false } } }));
    return found.violations.map((one) => `${one.id}: ${one.help} (${one.nodes.slice(0, 3).map((node) => node.target.join(" ")).join("; ")})`);
}

/** Whatever can be pressed and is smaller than a thumb wants. A radio or tick counts with its label. */
export const small = (page) =>
    page.evaluate(() => {
        const list = [];
        for (const one of document.querySelectorAll("a[href], button, input, summary, textarea, select")) {
            if (one.closest(".skip") || one.matches(".skip") || one.closest("[inert]") || (one.closest("dialog") === null && document.querySelector("dialog[open]"))) continue;
            const target = one.matches("input[type=radio], input[type=checkbox], input[type=file]") ? one.closest("label") : one.matches(".number input") ? one.closest(".entry") : one;
            const box = target.getBoundingClientRect();
            if (box.width === 0 || box.height === 0) continue;
            if (box.width < 43.5 || box.height < 43.5) list.push(`${one.tagName.toLowerCase()} "${(one.getAttribute("aria-label") ?? one.textContent ?? "").trim().slice(0, 40)}" ${Math.round(box.width)} x ${Math.round(box.height)}`);
        }
        return list;
    });

/** Whether something of the page lies beyond its right edge. */
export const tooWide = (page) => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

// TAP: cases are awaited one after the other; the plan comes last.
let number = 0;
let failed = 0;
export function say(good, what, why = []) {
    number++;
    if (!good) failed++;
    for (const line of Array.isArray(why) ? why : [why]) if (!good) console.log(`# ${String(line).split("\n").join("\n# ")}`);
    console.log(`${good ? "ok" : "not ok"} ${number} - ${what}`);
}
export const same = (got, wanted, what) => say(got === wanted, what, `got ${JSON.stringify(got)}, wanted ${JSON.stringify(wanted)}`);
export const none = (list, what) => say(list.length === 0, what, list);
/** Runs a piece of the walk; when it stops short, says where, and what the page showed then (a picture with TAP_SHOTS). */
export async function attempt(what, work, page = null) {
    try {
        await work();
    } catch (problem) {
        const alerts = page ? await page.locator("[role=alert], [role=status], .gate").allInnerTexts().catch(() => []) : [];
        if (page && process.env.TAP_SHOTS) await page.screenshot({ path: join(process.env.TAP_SHOTS, `${what.replace(/\W+/g, "-")}.png`) }).catch(() => undefined);
        say(false, what, [problem?.stack ?? String(problem), ...(page ? [`at ${page.url()}`] : []), ...alerts]);
    }
}
export function finish() {
    console.log(`1..${number}`);
    process.exitCode = failed > 0 ? 1 : 0;
}
