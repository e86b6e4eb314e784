// SPDX-License-Identifier: GPL-3.0-or-later
// What the shop sees of all its limbs at once, on the invented shop: children who outgrow their limbs among what is due.
import { attempt, finish, judge, launch, none, open, same, say, serve, sizes, small, tooWide } from "./drive.mjs";
import { byHttp, signIn } from "./shop.mjs";

async function look(desk, what) {
    const { page, size } = desk;
    none(await judge(page), `${what}, ${size.name}: axe-core finds nothing`);
    none(await small(page), `${what}, ${size.name}: every target is 44 px or larger`);
    const over = await tooWide(page);
    say(over <= 0, `${what}, ${size.name}: nothing lies beyond the right edge`, `${over} px`);
    if (process.env.TAP_SHOTS) await page.screenshot({ path: `${process.env.TAP_SHOTS}/${what.replace(/\W+/g, "-")}-${size.width}.png`, fullPage: true });
}

/** Each child whose forecast has reached a step stands in the list with day and reason, and nobody else. */
async function growthDue(desk, http) {
    const { page, hands, size } = desk;
    const due = (await http("GET", "shop")).json.due.filter((one) => one.short_mm !== null);
    say(due.length > 1, "the invented shop has children who outgrow their limbs", due.length);
    const list = page.getByRole("region", { name: "Due" });
    await list.getByRole("link").first().waitFor();
    const lines = await list.getByRole("link").filter({ hasText: "short by the forecast" }).allInnerTexts();
    same(lines.length, due.length, `each of them stands among what is due (${size.name})`);
    none(due.filter((one) => !lines.some((line) => line.includes(one.label) && line.includes(one.what) && line.includes(one.short_mm.toFixed(1)))).map((one) => one.label), `with step and length (${size.name})`);
    for (const one of due) {
        const asked = (await http("POST", "compute/growth", { limb: one.limb, options: {} })).json;
        const step = one.what.replace("length: ", "");
        say(asked.due[step].state === "now" && asked.due[step].limit_mm === one.short_mm, `${one.label}: the forecast of today says so too (${size.name})`, JSON.stringify(asked.due));
    }
    await look(desk, "what is due");
    hands.forget();
    await hands.press(list.getByRole("link").filter({ hasText: "short by the forecast" }).first());
    await page.getByRole("heading", { name: "Growth" }).waitFor();
    await page.getByRole("img", { name: /Growth: centiles/ }).waitFor();
    same(hands.counted().taps, 1, `one tap from there to the growth chart (${size.name})`);
    await look(desk, "growth of a child who is due");
}

/** The proof is asked for, entered at the ring, and the ring judged with it; a load too small is refused in words. */
async function squeeze(desk, http, label, load, done) {
    const { page, hands, size } = desk;
    const { json } = await http("GET", `limbs?search=${encodeURIComponent(label)}`);
    const id = json.limbs.find((one) => one.label === label).id;
    await hands.go("limb", id, "ring");
    const form = page.locator(".squeeze");
    await form.waitFor();
    if (!done) {
        const open = await form.evaluate((one) => one.open);
        say(open, `a ring that has to be measured again asks for its squeeze proof (${size.name})`);
    } else await hands.press(form.locator("summary"));
    hands.forget();
    await hands.type(form.getByLabel("Length of the ring").and(page.locator("input")), "18");
    await form.getByText("prove the seam this way").waitFor();
    const wanted = Number(/([\d.]+) N/.exec(await form.getByText("prove the seam this way").innerText())[1]);
    const told = (await http("POST", "compute/squeeze", { squeeze: { ring: { image: (await http("GET", `limbs/${id}`)).json.rings[0].picture }, axial_length_mm: 18 }, options: {} })).json;
    say(Math.abs(told.directions[0].proof_load_n - wanted) <= 1, `the load that proves the seam is said before pressing (${size.name})`, `${wanted}, ${told.directions[0].proof_load_n}`);
    await hands.type(form.getByLabel("Load held").and(page.locator("input")), "2");
    await hands.press(form.getByRole("group", { name: "What the seam showed" }).locator("label", { hasText: /^held$/ }));
    await look(desk, "squeeze proof");
    await hands.press(form.getByRole("button", { name: "Write the proof down" }));
    await form.getByRole("alert").waitFor();
    say(/does not prove the seam/.test(await form.getByRole("alert").innerText()), `a load that proves nothing is refused in words (${size.name})`);
    await hands.type(form.getByLabel("Load held").and(page.locator("input")), String(load));
    await hands.press(form.getByRole("button", { name: "Write the proof down" }));
    await page.locator(".evidence", { hasText: "squeeze proof" }).waitFor({ timeout: 30000 });
    const evidence = await page.locator(".evidence").innerText();
    say(/seam.s inner edge held \d/.test(evidence), `the decision shows the proof as its evidence (${size.name})`, evidence);
    const facts = (await http("GET", `limbs/${id}`)).json.facts.slice(-2);
    say(facts[0].kind === "squeeze-proof" && facts[0].body.load_n === load && facts[1].body.result.evidence === "picture+squeeze", `and both are written down (${size.name})`, JSON.stringify(facts[0].body).slice(0, 300));
    await page.locator(".drawing.wide img").waitFor();
    await look(desk, "ring with its proof");
}

/** Two sheets, and another foot, side by side before anything is formed: what is shown is what the server computes. */
async function choices(desk, http) {
    const { page, hands, size } = desk;
    const { json } = await http("GET", "limbs?search=invented adult 44");
    const id = json.limbs[0].id;
    await hands.go("limb", id, "plan");
    const box = page.getByRole("region", { name: "Choices before forming" });
    await box.getByText("Side by side; small figures").waitFor({ timeout: 30000 });
    const row = async (name) => (await box.getByRole("row", { name }).getByRole("cell").allInnerTexts()).map((text) => Number.parseFloat(text));
    hands.forget();
    await hands.type(box.getByLabel("Sheet, choice 1").and(page.locator("input")), "6");
    await hands.type(box.getByLabel("Sheet, choice 2").and(page.locator("input")), "12");
    const document = (await http("GET", `limbs/${id}`)).json.document;
    const planOf = (sheet_mm) => ({ format: "standfast-plan/1", material: "pp-copolymer", sheet_mm, model_diameter_mm: document.adapter.shank_mm, limb: { ...document, pylon: { ...document.pylon, material: "pp-copolymer", rings: [], holes: [] } } });
    const told = (await http("POST", "compute/compare", { documents: [planOf(6), planOf(12)], options: { samples: 0 } })).json;
    await page.waitForFunction((wanted) => [...document.querySelectorAll(".choices tr")].some((one) => /first yield/.test(one.textContent) && one.textContent.includes(wanted)), told.choices[1].proof_factor.toFixed(2));
    const proof = await row(/Proof force/);
    say(proof[0] === Number(told.choices[0].proof_factor.toFixed(2)) && proof[1] === Number(told.choices[1].proof_factor.toFixed(2)) && proof[1] > proof[0], `the thicker sheet carries more, as the server computes it (${size.name})`, `${proof} ${told.choices.map((one) => one.proof_factor)}`);
    const wall = await row(/^Wall expected/);
    const expected = await Promise.all([6, 12].map(async (sheet) => (await http("POST", "compute/form", { plan: planOf(sheet), options: {} })).json.wall_mm));
    say(wall.every((one, place) => Math.abs(one - expected[place]) < 0.06), `the wall that each leaves stands beside it (${size.name})`, `${wall} ${expected}`);
    const before = await row(/Cylinder left/);
    await box.getByLabel("Foot, choice 2").selectOption("invented foot, low, 260");
    await page.waitForFunction((was) => [...document.querySelectorAll(".choices tr")].some((one) => /Cylinder left/.test(one.textContent) && !one.lastElementChild.textContent.includes(was)), `${before[1].toFixed(1)} mm`);
    const fitted = (await http("POST", "compute/compare", { documents: [planOf(6), planOf(12)], fit: [null, { foot: "invented foot, low, 260" }], options: { samples: 0 } })).json;
    say(fitted.choices[1].free_length_mm > told.choices[1].free_length_mm, `a lower foot leaves a longer pylon, and the comparison stands on it (${size.name})`, `${fitted.choices[1].free_length_mm} ${told.choices[1].free_length_mm}`);
    await box.getByText("Side by side; small figures").waitFor({ timeout: 30000 });
    await look(desk, "choices before forming");
}

/** What the shop said, and what came of it: counts, the drawing of walls, each row leading to its limb. */
async function said(desk, http) {
    const { page, hands, size } = desk;
    await hands.press(page.getByRole("link", { name: "Said and seen" }));
    await page.getByRole("img", { name: /Walls: measured against expected/ }).waitFor({ timeout: 20000 });
    const { counts, rows } = (await http("GET", "said")).json;
    const shown = async (name) => (await page.getByRole("region", { name: "How often it came true" }).getByRole("row", { name }).getByRole("cell").allInnerTexts()).map(Number);
    for (const one of counts) {
        const row = await shown({ wall: /^wall/, sign: /^sign/, "toe-out": /^toe-out/, mass: /^mass/, length: /^length/ }[one.kind]);
        say(row[0] === one.came_true && row[1] === one.did_not && row[2] === one.waiting, `${one.kind}: came true, did not, waiting (${size.name})`, `${row} ${JSON.stringify(one)}`);
    }
    // Counted anew, from the rows and their own bounds.
    for (const kind of ["wall", "toe-out", "mass", "length"]) {
        const own = rows.filter((row) => row.kind === kind && row.seen !== null);
        const inside = own.filter((row) => row.seen >= row.low && row.seen <= row.high).length;
        const told = counts.find((one) => one.kind === kind);
        same(told.came_true, inside, `${kind}: as many came true as lie within their bounds (${size.name})`);
        same(told.did_not, own.length - inside, `${kind}: and the others did not (${size.name})`);
    }
    await look(desk, "said and seen of the shop");
    const wrong = rows.find((row) => row.kind === "wall" && row.came_true === false);
    const limb = (await http("GET", `limbs/${wrong.limb}`)).json;
    const ring = limb.facts.filter((fact) => fact.kind === "ring").pop().body;
    say(Math.abs(wrong.seen - ring.result.wall_median_mm) < 1e-9 && Math.abs(wrong.seen / wrong.said - 1) > 0.1, `a wall that did not come true is that of its ring (${size.name})`, JSON.stringify(wrong));
    await hands.press(page.getByRole("rowheader", { name: wrong.label }).getByRole("link").first());
    await page.locator(".title-block").waitFor();
    await hands.go("limb", String(wrong.limb), "release");
    await page.getByRole("region", { name: "Said and seen" }).getByText("did not").first().waitFor();
    say(true, `the limb's own list says so too (${size.name})`);
}

/** The shop's last rings in one picture and in words, last measured first; a limb with two rings shows both. */
async function rings(desk, http) {
    const { page, hands, size } = desk;
    await hands.press(page.getByRole("link", { name: "Rings", exact: true }));
    const told = (await http("GET", "rings")).json.rings;
    await page.getByRole("img", { name: new RegExp(`^${told.filter((one) => one.drawn).length} rings beside one another`) }).waitFor({ timeout: 20000 });
    const rows = await page.getByRole("region", { name: "Rings measured last" }).getByRole("row").allInnerTexts();
    same(rows.length - 1, told.length, `every ring of the board is in its table (${size.name})`);
    say(told.every((one, place) => rows[place + 1].includes(one.label) && rows[place + 1].includes(one.wall_median_mm.toFixed(2))), `in the same order (${size.name})`, rows[1]);
    say(told.every((one, place) => place === 0 || one.measured_at <= told[place - 1].measured_at), `last measured first (${size.name})`);
    await look(desk, "ring board");
    const twice = told.map((one) => one.limb).find((limb, place, all) => all.indexOf(limb) !== place);
    await hands.go("limb", String(twice), "ring");
    await page.getByRole("img", { name: /limb's rings beside one another/ }).waitFor({ timeout: 20000 });
    await look(desk, "two rings of a limb");
}

const browser = await launch();
const server = await serve({ demo: true });
try {
    const http = await byHttp(server, server.person);
    for (const size of sizes) {
        const desk = await open(browser, server, size);
        await attempt(`sign in (${size.name})`, () => signIn(desk, server, server.person), desk.page);
        await attempt(`children who are due (${size.name})`, () => growthDue(desk, http), desk.page);
        await attempt(`squeeze proof (${size.name})`, () => squeeze(desk, http, size === sizes[0] ? "invented adult 40" : "invented adult 42", 400, size !== sizes[0]), desk.page);
        await attempt(`choices before forming (${size.name})`, () => choices(desk, http), desk.page);
        await attempt(`said and seen (${size.name})`, () => said(desk, http), desk.page);
        await attempt(`ring board (${size.name})`, () => rings(desk, http), desk.page);
        none(desk.errors, `no error in the console (${size.name})`);
        await desk.context.close();
    }
} finally {
    await browser.close();
    await server.stop();
}
finish();
