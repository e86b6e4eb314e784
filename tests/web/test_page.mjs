// SPDX-License-Identifier: GPL-3.0-or-later
// The page on the real server, at both sizes: who comes in, a new limb, ring, decision, strength, a shut gate; a wrong picture,
// a network that goes away, a second editor; axe-core, targets and the least typing on the way.
import { cpus, loadavg } from "node:os";
import { join } from "node:path";
import { attempt, finish, judge, launch, none, open, quiet, root, same, say, serve, sizes, small, tooWide } from "./drive.mjs";
import { addPerson, byHttp, firstAdmin, prosthetist, reader, signIn, technician } from "./shop.mjs";

const FIRST_VIEW_MS = 1500;

const rings = join(root, "tests/data/known_rings");
const noise = join(root, "tests/fuzz/corpus/ring_scan/noise.png");

/** A view as it stands: axe-core, targets, nothing beyond the right edge. */
async function look(desk, what) {
    const { page, size } = desk;
    none(await judge(page), `${what}, ${size.name}: axe-core finds nothing`);
    none(await small(page), `${what}, ${size.name}: every target is 44 px or larger`);
    const over = await tooWide(page);
    say(over <= 0, `${what}, ${size.name}: nothing lies beyond the right edge`, `${over} px`);
}

async function people(browser, server) {
    const desk = await open(browser, server, sizes[0]);
    const { page, hands } = desk;
    await page.goto(server.address);
    await page.getByText("open the link that the server printed").waitFor();
    await look(desk, "sign-in");
    await firstAdmin(desk, server);
    for (const person of [prosthetist, technician, reader]) await addPerson(desk, person);
    await look(desk, "people");
    await hands.press(hands.button("switch person"));
    await page.getByRole("dialog").getByText("Petra Invented").waitFor();
    await look(desk, "who is at the tablet");
    hands.forget();
    await hands.press(page.getByRole("dialog").getByRole("button", { name: /Petra Invented/ }));
    for (const digit of "9999") await hands.press(page.getByRole("button", { name: digit, exact: true }));
    await hands.press(hands.button("Go on"));
    await page.getByRole("alert").waitFor();
    say(true, "a wrong PIN is said, and the tablet stays with who had it");
    for (const digit of prosthetist.pin) await hands.press(page.getByRole("button", { name: digit, exact: true }));
    await hands.press(hands.button("Go on"));
    await page.getByRole("button", { name: /Petra Invented, prosthetist/ }).waitFor();
    say(true, "four digits hand the tablet to another person");
    none(desk.errors, "people: no error in the console");
    await desk.context.close();
}

/** In under a minute: side, body mass, begin. */
async function newLimb(desk, label) {
    const { page, hands } = desk;
    await hands.go("shop");
    await page.getByRole("link", { name: "New limb" }).waitFor();
    hands.forget();
    await hands.press(page.getByRole("link", { name: "New limb" }));
    await hands.press(hands.word("Side", "left"));
    await hands.type(hands.box("Body mass"), "78");
    await hands.type(hands.box("Mark"), label);
    await look(desk, "new limb");
    await hands.press(hands.button("Begin"));
    await page.locator(".title-block").waitFor();
    const { taps, keys } = hands.counted();
    say(taps <= 3 && keys - label.length <= 2, `a new limb takes 3 taps, the mass and a mark (${desk.size.name})`, `${taps} taps, ${keys} keys`);
    return page.url().split("/").pop();
}

async function shutGate(desk, id) {
    const { page, hands } = desk;
    await page.getByRole("img", { name: /limb from the side/ }).waitFor();
    await look(desk, "limb");
    await hands.press(page.getByRole("navigation", { name: "Stages" }).getByRole("link", { name: /^(shut )?Standing/ }));
    await page.locator(".gate").waitFor();
    const words = await page.locator(".gate").innerText();
    say(/Shut: \S/.test(words) && /opens by: \S/i.test(words), `a shut gate says why and what opens it (${desk.size.name})`, words);
    await look(desk, "a shut stage");
    // Out of order: it can be written down all the same.
    await hands.press(hands.button("Permanent fixing", true).or(page.getByRole("link", { name: /Fasten and drill/ })).first());
    return id;
}

async function ring(desk, id) {
    const { page, hands } = desk;
    await hands.go("limb", id, "ring");
    const drop = page.locator("input[type=file]");
    await drop.waitFor({ state: "attached" });
    await drop.setInputFiles(noise);
    await page.getByText("noise.png").waitFor();
    await hands.press(page.getByRole("group", { name: "Whose ring" }).getByRole("button", { name: "Adult" }));
    await page.getByRole("alert").waitFor();
    const refused = await page.getByRole("alert").innerText();
    say(refused.length > 30 && !/undefined|null/.test(refused), `a picture that is no ring is refused in words (${desk.size.name})`, refused);
    await look(desk, "a refused picture");
    hands.forget();
    await drop.setInputFiles(join(rings, "unjoined.png"));
    await page.getByText("unjoined.png").waitFor();
    await hands.press(page.getByRole("group", { name: "Whose ring" }).getByRole("button", { name: "Adult" }));
    await page.locator(".verdict .decision").waitFor({ timeout: 30000 });
    const { taps, keys } = hands.counted();
    say(taps === 1 && keys === 0, `ring: a picture and one tap make a decision (${desk.size.name})`, `${taps} taps, ${keys} keys`);
    const verdict = await page.locator(".verdict").innerText();
    say(/Reject|Measure again/.test(verdict) && /No body weight/.test(verdict), `an unjoined ring bears no body weight (${desk.size.name})`, verdict);
    await page.locator(".scan svg .edges path").first().waitFor({ state: "attached" });
    await page.locator(".drawing.wide img").waitFor();
    await look(desk, "ring");
}

/** The two pen marks tapped: a quarter turn apart, then not. */
async function marks(desk) {
    const { page, hands, size } = desk;
    const box = await page.locator(".scan svg").boundingBox();
    const at = async (deg) => {
        const x = box.x + box.width / 2 + (box.width / 3.2) * Math.cos((deg * Math.PI) / 180);
        const y = box.y + box.height / 2 - (box.width / 3.2) * Math.sin((deg * Math.PI) / 180);
        await (size.touch ? page.touchscreen.tap(x, y) : page.mouse.click(x, y));
    };
    await page.locator(".scan svg").scrollIntoViewIfNeeded();
    await hands.press(hands.button("Tap the two pen marks"));
    Object.assign(box, await page.locator(".scan svg").boundingBox());
    await at(270);
    await page.getByRole("button", { name: "Now the outward dot" }).waitFor();
    await at(95);
    await page.getByText("a quarter turn is wanted").waitFor();
    say(true, `marks that are opposite each other are asked for again (${size.name})`);
    await at(270);
    await at(183);
    await page.getByText(/Posterior at (26[89]|27[012])° in the picture/).waitFor();
    say(/face toward the limb/.test(await page.locator(".picture").innerText()), `left limb, outward clockwise from posterior: the face toward the limb (${size.name})`);
}

async function strength(desk, id) {
    const { page, hands, size } = desk;
    await hands.go("limb", id, "strength");
    await page.locator(".strength .figures, .mend").first().waitFor({ timeout: 20000 });
    const wanted = await page.locator(".mend").count();
    same(wanted, 0, `strength needs side, mass and the ring, nothing typed (${size.name})`);
    if (wanted > 0) return console.log(`# ${await page.locator(".mend").innerText()}`);
    await page.locator(".strength .drawing img").waitFor();
    await look(desk, "strength");
    const slide = page.getByRole("slider", { name: "Body mass" });
    const times = [];
    for (let step = 0; step < 12; step++) {
        await slide.focus();
        await page.keyboard.press(step % 2 ? "ArrowLeft" : "ArrowRight");
        await page.locator("[data-took]").waitFor({ state: "attached" });
        await quiet(page);
        times.push(Number(await page.locator("[data-took]").getAttribute("data-took")));
    }
    times.sort((one, other) => one - other);
    say(times.every(Number.isFinite), `a slider is answered (${size.name})`);
    // How soon is judged by bench/sliders.mjs: on a machine that others use as well an answer waits its turn.
    console.log(`# slider answers: ${times.map((one) => one.toFixed(0)).join(" ")} ms at a load of ${loadavg()[0].toFixed(1)} on ${cpus().length} processors`);
}

async function network(desk, id, http) {
    const { page, hands, context, size } = desk;
    await hands.go("limb", id);
    await hands.button("Note", true).waitFor();
    const before = (await http("GET", `limbs/${id}`)).json.facts.length;
    await context.setOffline(true);
    await hands.press(hands.button("Note", true));
    await hands.type(page.getByRole("dialog").getByLabel("Text"), `typed without a network, ${size.name}`);
    await hands.press(page.getByRole("dialog").getByRole("button", { name: "Write it down" }));
    await page.getByText(/kept on this device/).first().waitFor({ timeout: 15000 });
    await page.getByRole("button", { name: /1 entry here/ }).waitFor();
    say(true, `an entry without a network is kept and seen (${size.name})`);
    await look(desk, "without a network");
    await context.setOffline(false);
    await page.getByText("network: there").waitFor({ timeout: 20000 });
    const { json } = await http("GET", `limbs/${id}`);
    same(json.facts.length, before + 1, `it is sent once when the network is back (${size.name})`);
    say(json.facts.some((fact) => JSON.stringify(fact.body).includes(`typed without a network, ${size.name}`)), `and it is what was typed (${size.name})`);
}

async function secondEditor(desk, id, http) {
    const { page, hands, size } = desk;
    await hands.go("limb", id, "plan");
    await page.getByLabel("Stature").and(page.locator("input")).first().waitFor();
    const theirs = async (change) => {
        const { json } = await http("GET", `limbs/${id}`);
        const document = { ...json.document, person: { ...json.document.person, ...change } };
        same((await http("PUT", `limbs/${id}`, { document }, { "If-Match": String(json.version) })).status, 200, `the other editor saves (${size.name})`);
    };
    const form = page.locator("form.fact").first();
    await theirs({ habitual_load_kg: 7 });
    await hands.type(form.getByLabel("Stature").and(page.locator("input")).first(), "1712");
    await hands.press(form.getByRole("button", { name: "Save" }));
    await page.getByText("Your fields were put on top").first().waitFor();
    let { json } = await http("GET", `limbs/${id}`);
    same(json.document.person.stature_mm, 1712, `another field of a second editor: mine is saved (${size.name})`);
    same(json.document.person.habitual_load_kg, 7, `and theirs is kept (${size.name})`);
    await theirs({ stature_mm: 1700 });
    await hands.type(form.getByLabel("Stature").and(page.locator("input")).first(), "1725");
    await hands.press(form.getByRole("button", { name: "Save" }));
    await page.getByRole("dialog").getByText("Somebody else changed this limb").waitFor();
    await look(desk, "two editors, one field");
    await hands.press(page.getByRole("dialog").locator("label", { hasText: "theirs: 1700" }));
    await hands.press(page.getByRole("dialog").getByRole("button", { name: "Save so" }));
    await page.getByRole("dialog").waitFor({ state: "detached" });
    ({ json } = await http("GET", `limbs/${id}`));
    same(json.document.person.stature_mm, 1700, `the same field: the person decides (${size.name})`);
}

async function unitsAndLight(desk, id) {
    const { page, hands, size } = desk;
    await hands.go("limb", id);
    await hands.press(hands.button("metric; change to inch-pound"));
    await page.locator(".title-block").getByText("172.0 lb").waitFor();
    say(true, `inch-pound for this person, at once (${size.name})`);
    await page.reload();
    await page.locator(".title-block").getByText("172.0 lb").waitFor();
    say(true, `and after the page is opened again (${size.name})`);
    await hands.go("limb", id, "plan");
    const stature = page.locator("form.fact").first().getByLabel("Stature", { exact: true });
    const before = Number(await stature.inputValue());
    await hands.press(hands.button("Stature: more"));
    const after = Number(await stature.inputValue());
    say(before > 60 && before < 70 && Math.abs(after - before - 1 / 16) < 1e-3, `a thumb key moves a length by a sixteenth of an inch (${size.name})`, `${before} to ${after}`);
    await hands.go("limb", id);
    await hands.press(hands.button("light; change to dark"));
    await look(desk, "limb, dark");
    await hands.press(hands.button("dark; change to light"));
    await hands.press(hands.button("inch-pound; change to metric"));
    await page.locator(".title-block").getByText("78.0 kg").waitFor();
}

/** By keyboard alone: to the stage, into its form, out again with Escape. */
async function keyboard(desk, id) {
    const { page, hands } = desk;
    await hands.go("limb", id, "cut");
    await page.getByRole("region", { name: "Write down" }).waitFor();
    await page.locator("body").press("Tab");
    const first = await page.evaluate(() => document.activeElement?.textContent?.trim());
    same(first, "To the sheet", "the first stop of the keyboard leads past the head");
    await page.getByRole("region", { name: "Write down" }).getByRole("button").first().focus();
    await page.keyboard.press("Enter");
    await page.getByRole("dialog").waitFor();
    const inside = await page.evaluate(() => document.querySelector("dialog")?.contains(document.activeElement));
    say(inside, "a dialog takes the keyboard");
    await page.keyboard.press("Escape");
    await page.getByRole("dialog").waitFor({ state: "detached" });
    say(true, "Escape leaves it");
}

/** A technician measures, by caliper; the decision waits for a prosthetist, who takes the tablet over by PIN and signs. */
async function technicianThenProsthetist(browser, server) {
    const desk = await open(browser, server, sizes[0]);
    const { page, hands } = desk;
    await attempt("a technician, then a prosthetist", async () => {
        await signIn(desk, server, technician);
        const id = await newLimb(desk, "invented 3");
        await hands.go("limb", id, "ring");
        await hands.press(page.getByText("No picture: caliper readings", { exact: true }));
        const boxes = page.locator(".caliper .number input");
        await boxes.first().focus();
        // A caliper that types: a reading, Enter, the next box; after the last one it measures.
        for (let station = 0; station < 8; station++)
            for (const reading of ["50.1", "5.6"]) {
                await page.keyboard.type(reading);
                await page.keyboard.press("Enter");
            }
        await page.locator(".verdict .decision").waitFor({ timeout: 20000 });
        say(/50\.1 mm/.test(await page.locator(".ring > .figures").innerText()), "caliper readings, each with Enter, make a ring");
        await look(desk, "ring by caliper");
        await page.getByText("waits for the signature of a prosthetist").waitFor();
        same(await page.getByRole("button", { name: "Sign it" }).count(), 0, "a technician cannot sign it");
        await hands.press(hands.button("switch person"));
        await hands.press(page.getByRole("dialog").getByRole("button", { name: /Petra Invented/ }));
        for (const digit of prosthetist.pin) await hands.press(page.getByRole("button", { name: digit, exact: true }));
        await hands.press(hands.button("Go on"));
        await page.getByRole("button", { name: /Petra Invented, prosthetist/ }).waitFor();
        say(page.url().includes(`/limb/${id}/ring`), "the other person stands where the first one stood");
        await hands.press(page.getByRole("button", { name: "Sign it" }));
        await page.getByText("waits for the signature of a prosthetist").waitFor({ state: "detached" });
        say(true, "a prosthetist signs what a technician measured");
        await hands.go("limb", id, "release");
        const link = page.getByRole("link", { name: "Care sheet" });
        await link.waitFor();
        const paper = await page.evaluate(async (address) => {
            const answer = await fetch(address);
            return { type: answer.headers.get("Content-Type"), begin: (await answer.text()).slice(0, 5) };
        }, await link.getAttribute("href"));
        same(paper.begin, "%PDF-", "the care sheet comes as a PDF");
        await look(desk, "papers");
        // The other side of the same person.
        await hands.go("limb", id);
        await hands.press(page.getByText("The person's data, another limb", { exact: true }));
        await look(desk, "the person's data");
        await hands.press(page.getByRole("link", { name: "Another limb of this person" }));
        await hands.press(hands.word("Side", "right"));
        await hands.type(hands.box("Body mass"), "78");
        await hands.press(hands.button("Begin"));
        await page.getByText("Still needed: a mark.").waitFor();
        await hands.type(hands.box("Mark"), "invented 3, right");
        await hands.press(hands.button("Begin"));
        await page.locator(".title-block").waitFor();
        const http = await byHttp(server, prosthetist);
        const [first, second] = await Promise.all([id, page.url().split("/").pop()].map((one) => http("GET", `limbs/${one}`)));
        same(second.json.wearer, first.json.wearer, "a second limb belongs to the same person");
    }, page);
    none(desk.errors, "technician: no error in the console");
    await desk.context.close();
}

async function readers(browser, server, id) {
    const desk = await open(browser, server, sizes[1]);
    await signIn(desk, server, reader);
    same(await desk.page.getByRole("link", { name: "New limb" }).count(), 0, "a reader is offered no new limb");
    await desk.hands.go("limb", id);
    await desk.page.locator(".title-block").waitFor();
    same(await desk.page.getByRole("button", { name: "Crack", exact: true }).count(), 1, "a crack can be told by everybody");
    same(await desk.page.getByRole("button", { name: "Growth reading", exact: true }).count(), 0, "but no reading is theirs to write");
    await desk.hands.go("limb", "nowhere");
    await desk.page.getByRole("alert").waitFor();
    say(true, "a limb that is not there is said, with what to do");
    none(desk.errors, "reader: no error in the console");
    await desk.context.close();
}

async function cold(browser, server) {
    const desk = await open(browser, server, sizes[0]);
    const began = Date.now();
    await desk.page.goto(server.address);
    await desk.page.getByRole("button", { name: "Sign in" }).waitFor();
    const took = Date.now() - began;
    const idle = loadavg()[0] < cpus().length;
    say(!idle || took < FIRST_VIEW_MS, "the first view is there within 1.5 s, cold, where nothing else runs", `${took} ms`);
    let packed = 0;
    for (const path of ["", "page.js", "sheet.css", "mark.svg", "b612-regular.woff2", "b612-bold.woff2", "worker.js"]) {
        // The length on the wire: fetch would unpack it.
        const { get } = await import("node:http");
        packed += await new Promise((done, fail) => {
            get(server.address + path, { headers: { "Accept-Encoding": "gzip" } }, (answer) => {
                let size = 0;
                answer.on("data", (part) => (size += part.length));
                answer.on("end", () => done(size));
            }).on("error", fail);
        });
    }
    say(packed < 150e3, "the page, fonts included, is under 150 kB gzipped", `${packed} bytes`);
    console.log(`# first view after ${took} ms, ${packed} bytes on the wire`);
    await desk.context.close();
}

const server = await serve();
const browser = await launch();
try {
    await cold(browser, server);
    await attempt("people", () => people(browser, server));
    const http = await byHttp(server, technician);
    let last = null;
    for (const size of sizes) {
        const desk = await open(browser, server, size);
        await attempt(`the walk at ${size.name}`, async () => {
            await signIn(desk, server, prosthetist);
            await desk.page.getByText("Next on the bench").waitFor();
            await look(desk, "shop");
            const id = await newLimb(desk, `invented ${size.width}`);
            last = id;
            await shutGate(desk, id);
            await ring(desk, id);
            await marks(desk);
            await strength(desk, id);
            await network(desk, id, http);
            await secondEditor(desk, id, http);
            await unitsAndLight(desk, id);
            if (!size.touch) await keyboard(desk, id);
        }, desk.page);
        none(desk.errors, `${size.name}: no error in the console`);
        await desk.context.close();
    }
    await technicianThenProsthetist(browser, server);
    if (last) await attempt("readers", () => readers(browser, server, last));
} finally {
    await browser.close();
    await server.stop();
    finish();
}
