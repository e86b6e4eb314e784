// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of every view, at both sizes, of a small invented shop on a server of its own, to be looked at by a person.
// Usage: node tests/web/screenshots.mjs FOLDER [VIEW...]     (`make screenshots` writes to build/screenshots)
import { mkdirSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { launch, open, root, serve, sizes } from "./drive.mjs";
import { rings } from "./bench_hands.mjs";
import { addPerson, byHttp, firstAdmin, prosthetist, signIn, technician } from "./shop.mjs";

const folder = process.argv[2] ?? join(root, "build/screenshots");
const wanted = process.argv.slice(3);
mkdirSync(folder, { recursive: true });

const days = (back) => new Date(Date.now() - back * 86400e3).toISOString();
const yes = (...names) => Object.fromEntries(names.map((name) => [name, true]));

/** From judgement to follow-up, in the order in which it happens. */
const story = [
    ["candidacy", { decision: "suitable" }],
    ["cast", { number: "C 1" }],
    ["model", { number: "M 1", ...yes("knee_line", "posterior_midline", "outward_midline") }],
    ["check-socket", { walked: true }],
    ["alignment-frozen", { flexion_deg: 5, adduction_deg: 5 }],
    ["forming", { sheet_lot: "invented-lot-1", sheet_mm: 8, oven_c: 195, vacuum_s: 90, model: "dry", by: "TI", read_by: "PI, TI" }],
    ["alignment-as-formed", { flexion_deg: 5, adduction_deg: 5 }],
    ["break-out", { harm: false }],
    ["lock", { pull_n: 600, held: true }],
    ["trim-lines", { edges_finished: true }],
    ["ring-marked", { ring_number: "1", ...yes("up_arrow", "posterior_line", "outward_dot") }],
    ["lamp-look", { finding: "clear" }],
    ["RING", "sound.png"],
    ["squeeze-proof", { ring_number: "1", passed: true, load_n: 400, seam: "both" }],
    ["cut", { cut_height_mm: 110, read_by: "PI, TI" }],
    ["foot-set", { toe_out_deg: 6 }],
    ["holding-screw", { torque_nm: 3.2, mark_drawn: true }],
    ["standing", { sock_ply: 3, pelvis_level: true, heels_apart_mm: 120, sole_flat: true, pressure: "even" }],
    ["holding-screw-look", { torque_nm: 3.2, witness: "unbroken" }],
    ["walk", { settings: { toe_out_deg: 6 }, observations: [{ sign: "drop-off", phase: "terminal-stance", strength: 2 }], support: "bars", assistant: true, skin: "clear", pain: 0 }],
    ["advice-taken", { advice: "foot forward +8 mm", choice: "taken" }],
    ["foot-set", { toe_out_deg: 6, foot_forward_mm: 8 }],
    ["holding-screw-look", { torque_nm: 3.2, witness: "unbroken" }],
    ["walk", { settings: { toe_out_deg: 6, foot_forward_mm: 8 }, observations: [{ sign: "nothing-seen", phase: "mid-stance" }], support: "bars", assistant: true, skin: "clear", pain: 0 }],
    ["settled", { toe_out_deg: 6, foot_forward_mm: 8 }],
    ["permanent-fixing", { fixing: "pinch-band", torque_nm: 5, read_by: "PI, TI" }],
    ["check-out", { toe_out_deg: 6, ...yes("walked", "sat", "donned_doffed"), minutes: 20, skin: "clear" }],
    ["finish", { mass_g: 1900, cover: "foam" }],
    ["delivery", { wear_in_h: 2, ...yes("donning_taught", "stop_signs_told", "telephone_given") }],
    ["statement", yes("care_sheet", "custom_made_statement")],
    ["release", {}],
];

async function seed(server) {
    const http = await byHttp(server, prosthetist);
    const ids = {};
    const examples = readdirSync(join(root, "data/examples")).filter((name) => name.endsWith(".json"));
    for (const [place, name] of examples.entries()) {
        const document = JSON.parse(readFileSync(join(root, "data/examples", name), "utf8"));
        const made = await http("POST", "limbs", { document });
        if (made.status !== 201) throw new Error(`${name}: ${JSON.stringify(made.json)}`);
        const id = made.json.id;
        ids[name.replace(".json", "")] = id;
        const upTo = name.startsWith("adult") ? story.length : [0, story.length, 12, 19, 26, 13][place] ?? 9;
        for (const [step, [kind, body]] of story.slice(0, upTo).entries()) {
            if (kind === "RING") {
                const file = name.startsWith("unjoined") ? "unjoined.png" : name.startsWith("child") ? "child.png" : body;
                const put = await http("POST", `limbs/${id}/pictures`, readFileSync(join(rings, file)), { "Content-Type": "image/png" });
                const user = name.startsWith("child") ? "child" : "adult";
                const ring = await http("POST", `limbs/${id}/rings`, { picture: put.json.picture, user, ring_number: "1", posterior_deg: 270, face: "limb-side" });
                if (ring.status !== 201) console.error(name, file, JSON.stringify(ring.json));
                continue;
            }
            const answer = await http("POST", `limbs/${id}/facts`, { kind, happened_at: days((upTo - step) * 1.5 + 1), body });
            if (answer.status !== 201) console.error(name, kind, JSON.stringify(answer.json));
        }
    }
    await http("POST", `limbs/${ids["early-wrong-holes"]}/facts`, { kind: "permanent-fixing", body: { fixing: "through-screws", torque_nm: 5 } });
    return ids;
}

const server = await serve();
const browser = await launch();
try {
    const first = await open(browser, server, sizes[1]);
    await firstAdmin(first, server);
    for (const person of [prosthetist, technician]) await addPerson(first, person);
    await first.context.close();
    const ids = await seed(server);
    const limb = (name, ...part) => ["limb", String(ids[name]), ...part];
    const stages = ["plan", "model", "set-up", "form", "ring", "cut", "foot", "standing", "trials", "settle", "fasten", "check-out", "release", "follow-up", "strength"];
    const views = [
        ["shop", ["shop"]],
        ["new", ["new"]],
        ["limb", limb("adult")],
        ["limb-early-screw", limb("early-wrong-holes")],
        ["limb-unjoined", limb("unjoined-seam")],
        ...stages.map((name) => [name, limb("adult", name)]),
        ["standing-shut", limb("unjoined-seam", "standing")],
        ["ring-unjoined", limb("unjoined-seam", "ring")],
        ["fasten-wrong-holes", limb("early-wrong-holes", "fasten")],
        ["follow-up-child", limb("child", "follow-up")],
        ["strength-heavy", limb("heavy-adult", "strength")],
        ["people", ["people"]],
        ["recall", ["recall", "invented-lot-1"]],
        ["incidents", ["incidents"]],
        ["audit", ["audit"]],
    ].filter(([name]) => wanted.length === 0 || wanted.includes(name));
    for (const size of sizes) {
        const desk = await open(browser, server, size);
        const shoot = async (name) => desk.page.screenshot({ path: join(folder, `${name}-${size.width}.png`), fullPage: true });
        if (wanted.length === 0) {
            await desk.page.goto(server.address);
            await desk.page.waitForTimeout(500);
            await shoot("sign-in");
        }
        await signIn(desk, server, prosthetist);
        for (const [name, place] of views) {
            await desk.hands.go(...place);
            await desk.page.waitForLoadState("networkidle");
            await desk.page.waitForTimeout(400);
            await shoot(name);
        }
        if (wanted.length === 0) {
            for (const [name, place] of [["limb", limb("adult")], ["strength", limb("adult", "strength")], ["ring", limb("unjoined-seam", "ring")]]) {
                await desk.page.evaluate(() => (document.documentElement.dataset.look = "dark"));
                await desk.hands.go(...place);
                await desk.page.waitForLoadState("networkidle");
                await desk.page.waitForTimeout(300);
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
