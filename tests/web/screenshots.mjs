// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of every view, at both sizes, of the invented shop on a server of its own, to be looked at by a person.
// Usage: node tests/web/screenshots.mjs FOLDER [VIEW...]     (`make screenshots` writes to build/screenshots)
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { launch, open, quiet, root, serve, sizes } from "./drive.mjs";
import { byHttp, signIn } from "./shop.mjs";

const folder = process.argv[2] ?? join(root, "build/screenshots");
const wanted = process.argv.slice(3);
mkdirSync(folder, { recursive: true });

const server = await serve({ demo: true });
const browser = await launch();
try {
    const http = await byHttp(server, server.person);
    const { json } = await http("GET", "limbs?count=200");
    const limbs = json.limbs;
    /** The first limb that is as wanted, else the first of all. */
    const find = (wanted) => ["limb", String((limbs.find(wanted) ?? limbs[0]).id)];
    const flag = (code) => (one) => one.flags.some((flag) => (flag.code ?? flag) === code);
    const opened = async (wanted) => {
        for (const one of limbs) {
            const { json: limb } = await http("GET", `limbs/${one.id}`);
            if (wanted(limb)) return ["limb", String(one.id)];
        }
        return ["limb", String(limbs[0].id)];
    };
    const child = await opened((one) => one.state.stages.find((stage) => stage.name === "follow-up").state !== "shut" && one.document?.person.birth_date > "2012");
    const lot = (limbs.find((one) => one.sheet_lot) ?? limbs[0]).sheet_lot ?? "";
    const stages = ["plan", "model", "set-up", "form", "ring", "cut", "foot", "standing", "trials", "settle", "fasten", "check-out", "release", "follow-up", "strength"];
    const views = [
        ["shop", ["shop"]],
        ["new", ["new"]],
        ["limb", find((one) => one.stage === "follow-up")],
        ["limb-new", find((one) => one.stage === "plan")],
        ["limb-early-screw", find(flag("early-permanent-fixing"))],
        ["limb-out-of-use", find(flag("out-of-use"))],
        ...stages.map((name) => [name, [...find((one) => one.stage === name || (name === "strength" && one.stage === "cut")), name]]),
        ["standing-shut", [...find((one) => one.stage === "ring"), "standing"]],
        ["ring-rejected", [...find(flag("ring-rejected")), "ring"]],
        ["fasten-early-screw", [...find(flag("early-permanent-fixing")), "fasten"]],
        ["follow-up-child", [...child, "follow-up"]],
        ["people", ["people"]],
        ["rings", ["rings"]],
        ["said", ["said"]],
        ["recall", ["recall", lot]],
        ["incidents", ["incidents"]],
        ["audit", ["audit"]],
        ["rings", ["rings"]],
        ["said", ["said"]],
    ].filter(([name]) => wanted.length === 0 || wanted.includes(name));
    for (const size of sizes) {
        const desk = await open(browser, server, size);
        /** Until nothing is computed, asked or drawn any more. */
        const shoot = async (name) => {
            await quiet(desk.page);
            // As high as the sheet, so that the title block stands at its foot and hides nothing.
            await desk.page.setViewportSize({ width: size.width, height: Math.max(size.height, await desk.page.evaluate(() => document.documentElement.scrollHeight)) });
            await quiet(desk.page);
            await desk.page.screenshot({ path: join(folder, `${name}-${size.width}.png`), fullPage: true });
            await desk.page.setViewportSize({ width: size.width, height: size.height });
        };
        if (wanted.length === 0) {
            await desk.page.goto(server.address);
            await desk.page.getByRole("button", { name: "Sign in" }).waitFor();
            await shoot("sign-in");
        }
        await signIn(desk, server, server.person);
        for (const [name, place] of views) {
            await desk.hands.go(...place);
            await shoot(name);
            if (await desk.page.evaluate(() => /Drawing…|Computing…|Fetching/.test(document.body.innerText))) console.error(`${name}: something was never drawn`);
        }
        if (wanted.length === 0) {
            for (const [name, place] of views.filter(([name]) => ["limb", "strength", "ring-rejected"].includes(name))) {
                await desk.page.evaluate(() => (document.documentElement.dataset.look = "dark"));
                await desk.hands.go(...place);
                await shoot(`${name}-dark`);
                await desk.page.evaluate(() => delete document.documentElement.dataset.look);
                await desk.page.emulateMedia({ media: "print" });
                await shoot(`${name}-print`);
                await desk.page.emulateMedia({ media: null });
            }
        }
        for (const error of desk.errors) console.error(error);
        await desk.context.close();
    }
    console.log(`pictures of ${views.length} views in ${folder}`);
} finally {
    await browser.close();
    await server.stop();
}
