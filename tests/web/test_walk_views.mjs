// SPDX-License-Identifier: GPL-3.0-or-later
// Standing and walking trials in the page, at both sizes: settings by thumb, the limb drawn before and after, signs by phase
// and side, the tap pad with its strip, all that a walk is written down with, the next step and what came of the last one,
// brackets that narrow, and the signature at the end. What is stored is asked for over HTTP.
import { attempt, finish, judge, launch, none, open, quiet, same, say, serve, sizes, small, tooWide } from "./drive.mjs";
import { stage, writeDown } from "./bench_hands.mjs";
import { byHttp, prosthetist, signIn, staffed, technician } from "./shop.mjs";

/** An invented person whose limb stands on its clamp: an adapter that turns and shifts, and tilts nothing. */
const document = (label) => ({
    format: "standfast-limb/1",
    person: { label, side: "left", body_mass_kg: 78, stature_mm: 1750, sound_knee_height_mm: 480, activity: "moderate", volume: "stable" },
    foot: { length_mm: 260, build_height_mm: 75, heel_height_mm: 10, max_user_mass_kg: 100, activity: "moderate" },
    shoe: { heel_mm: 20, sole_mm: 10 },
    socket: { flexion_deg: 5, adduction_deg: 3, distal_end_height_mm: 290 },
    pylon: { material: "pp-copolymer", expected_wall_mm: 5.5, top_height_mm: 290, cut_height_mm: 104 },
    adapter: {
        depth_mm: 30, build_height_mm: 12, shank_mm: 34, rim_mm: 45.4, max_user_mass_kg: 100, activity: "moderate", rotation_hold: "holding-screw",
        motions: [["toe_out_deg", 20], ["foot_forward_mm", 15], ["foot_outset_mm", 15]].map(([setting, most]) => ({ setting, range: [-most, most] })),
    },
    alignment: { toe_out_deg: 6, foot_forward_mm: 0, foot_outset_mm: 0, dorsiflexion_deg: 0, eversion_deg: 0 },
});

async function look(desk, what) {
    none(await judge(desk.page), `${what}, ${desk.size.name}: axe-core finds nothing`);
    none(await small(desk.page), `${what}, ${desk.size.name}: every target is 44 px or larger`);
    const over = await tooWide(desk.page);
    say(over <= 0, `${what}, ${desk.size.name}: nothing lies beyond the right edge`, `${over} px`);
}

/** What the page asks for while something is done: the bodies of one address. */
async function asked(desk, address, work) {
    const bodies = [];
    const hear = (request) => request.url().endsWith(address) && bodies.push(JSON.parse(request.postData()));
    desk.page.on("request", hear);
    await work();
    await quiet(desk.page);
    desk.page.off("request", hear);
    return bodies;
}

async function standing(desk, id, http) {
    const { page, hands, size } = desk;
    await stage(desk, id, "standing");
    const box = (name) => hands.box(name, true);
    const bodies = await asked(desk, "compute/align/drawing", async () => {
        for (let times = 0; times < 3; times++) await hands.press(hands.button("Foot outset: more"));
        for (let times = 0; times < 2; times++) await hands.press(hands.button("Toe-out: less"));
    });
    same(await box("Foot outset").inputValue(), "3", `three taps on plus are 3 mm (${size.name})`);
    same(await box("Toe-out").inputValue(), "4", `two taps on minus are 2 degrees less (${size.name})`);
    same(JSON.stringify(bodies[bodies.length - 1].options), JSON.stringify({ toe_out_deg: -2, foot_outset_mm: 3 }), `the limb is drawn before and after just this change (${size.name})`);
    say(/not a motion of this adapter/.test(await page.locator(".settings .field", { hasText: "Dorsiflexion" }).innerText()), `a motion that the adapter lacks is said (${size.name})`);
    await hands.press(page.locator(".drawing summary").first());
    const rows = Object.fromEntries((await page.getByRole("table", { name: "Where the socket stands, foot flat" }).locator("tbody tr").allInnerTexts()).map((row) => row.split("\t")).map(([what, ...rest]) => [what, rest]));
    const { json: aligned } = await http("POST", "compute/align", { document: (await http("GET", `limbs/${id}`)).json.document, options: { toe_out_deg: -2, foot_outset_mm: 3 } });
    const shown = (text) => Number(text.replace("−", "-").replace(/[^\d.-]/g, ""));
    const pairs = [["socket over the ankle, outward", "socket_o_mm"], ["toe-out", "toe_out_deg"], ["socket adduction", "socket_adduction_deg"]];
    none(
        pairs.filter(([words, key]) => Math.abs(shown(rows[words][0]) - aligned.pose_before[key]) > 0.051 || Math.abs(shown(rows[words][1]) - aligned.pose_after[key]) > 0.051).map(([words, key]) => `${words}: ${rows[words]} against ${aligned.pose_before[key]}, ${aligned.pose_after[key]}`),
        `its twin in figures is what the computation says (${size.name})`,
    );
    // With the foot flat and moved 3 mm out under it, the socket stands 3 mm further in (the chain's own definition of outset).
    say(Math.abs(aligned.pose_after.socket_o_mm - aligned.pose_before.socket_o_mm + 3) < 0.3, `outset moves the socket inward over the foot (${size.name})`, `${aligned.pose_before.socket_o_mm} to ${aligned.pose_after.socket_o_mm}`);
    await look(desk, "standing");
    await hands.press(hands.button("Write down as set"));
    await page.getByText("Written down as set.").waitFor();
    await quiet(page);
    const { json } = await http("GET", `limbs/${id}`);
    same(JSON.stringify([json.document.alignment.toe_out_deg, json.document.alignment.foot_outset_mm]), "[4,3]", `what is set is in the limb's file (${size.name})`);
    // Another tablet sets the foot; whoever comes back to this view sees that, not what stood here before.
    await stage(desk, id, "settle");
    same((await http("POST", `limbs/${id}/facts`, { kind: "foot-set", body: { ...json.document.alignment, foot_outset_mm: 0, toe_out_deg: 6, foot_forward_mm: -4 } })).status, 201, `another tablet sets the foot (${size.name})`);
    await stage(desk, id, "standing");
    same([await box("Foot forward").inputValue(), await box("Foot outset").inputValue(), await box("Toe-out").inputValue()].join(), "-4,0,6", `the settings that another tablet wrote down stand here (${size.name})`);
    await hands.press(hands.button("Foot forward: more"));
    await hands.press(hands.button("Back to what is written down"));
    await quiet(page);
    same(await box("Foot forward").inputValue(), "-4", `what was only tried is taken back (${size.name})`);
    await hands.type(box("Foot forward"), "0");
    await hands.press(hands.button("Write down as set"));
    await page.getByText("Written down as set.").waitFor();
    await writeDown(desk, "Standing", { "sock ply": "3", "pelvis level": "tap:yes", "heels apart": "120 mm", "sole flat": "tap:yes", pressure: "tap:even" });
}

const pain = (desk, value) => desk.page.getByRole("group", { name: "Pain" }).locator("label", { hasText: new RegExp(`^${value}$`) });
async function fourTaps(desk, sign, more = {}) {
    const { hands } = desk;
    await hands.press(hands.button(sign));
    await hands.press(hands.word("Skin", more.skin ?? "clear"));
    await hands.press(pain(desk, more.pain ?? 0));
    await hands.press(hands.word("Support", "bars"));
    await quiet(desk.page);
}
/** Width of each bar, by the setting's words. */
const bars = async (desk) =>
    Object.fromEntries(await desk.page.locator(".brackets tr").evaluateAll((rows) => rows.map((row) => [row.querySelector("th").firstChild.textContent.trim(), Number(row.querySelector("rect").getAttribute("width"))])));

async function trials(desk, id, http) {
    const { page, hands, size } = desk;
    await stage(desk, id, "trials");
    const phases = await page.locator(".signs .phase").evaluateAll((groups) => groups.map((one) => one.getAttribute("aria-label")));
    const order = ["standing", "initial contact", "loading response", "mid stance", "terminal stance", "pre swing", "swing"];
    say(phases.length >= 4 && phases.every((one, place) => place === 0 || order.indexOf(one) > order.indexOf(phases[place - 1])), `the signs stand in the order of the step (${size.name})`, phases.join(", "));
    // Next step in four taps, the drawing with it.
    hands.forget();
    const bodies = await asked(desk, "compute/align/drawing", () => fourTaps(desk, "lateral thrust"));
    const { taps, keys } = hands.counted();
    say(taps === 4 && keys === 0, `the next step stands there after four taps (${size.name})`, `${taps} taps, ${keys} keys`);
    const suggestion = page.locator(".suggestion");
    const words = await suggestion.innerText();
    say(/foot outset: \+\d/i.test(words) && /lateral thrust in mid-stance \(slight\)/i.test(words) && /Expected: lateral thrust/.test(words), `one suggestion, its reason, and what it expects (${size.name})`, words);
    same(await suggestion.locator("p.step").count(), 1, `and one only (${size.name})`);
    const change = bodies[bodies.length - 1]?.options.foot_outset_mm;
    say(change > 0 && new RegExp(`foot outset: \\+${change}`, "i").test(words), `the limb is drawn with the step that is named (${size.name})`, `${change}`);
    const others = suggestion.locator("details", { hasText: "Why not the others" });
    same(await others.locator("li").first().isVisible(), false, `why not the others is folded away (${size.name})`);
    await hands.press(others.locator("summary"));
    say((await others.locator("li").allInnerTexts()).every((line) => /: \S.{8,}/.test(line)) && (await others.locator("li").count()) > 0, `and each has its reason (${size.name})`);
    // A sign is slight, clear, strong, off; and may be of another phase or the sound side.
    const sign = hands.button("lateral thrust");
    await hands.press(sign);
    say(/clear/.test(await sign.innerText()), `a second tap: clear (${size.name})`);
    await hands.press(sign);
    say(/strong/.test(await sign.innerText()), `a third: strong (${size.name})`);
    await hands.press(sign);
    same(await sign.getAttribute("aria-pressed"), "false", `a fourth takes it off (${size.name})`);
    for (let times = 0; times < 3; times++) await hands.press(sign);
    await hands.press(hands.button("foot slap"));
    await hands.press(page.getByText("Phase and side of what was seen", { exact: true }));
    await hands.press(hands.word("lateral thrust: phase", "loading response"));
    await hands.press(hands.word("foot slap: side", "sound"));
    // Everything else that a walk is written down with.
    await hands.press(page.getByText("Settings, assistant, holding screw, sock, note", { exact: true }));
    await hands.press(hands.word("With an assistant", "yes"));
    await hands.press(hands.word("Witness mark", "unbroken"));
    await hands.type(hands.box("Torque of the holding screw", true), "3.2");
    await hands.type(hands.box("Sock ply", true), "3");
    await hands.type(hands.box("Minutes since donning", true), "20");
    await hands.type(hands.box("Comfort, 0 to 10", true), "6");
    await hands.press(page.getByText("Something slipped on this walk", { exact: true }));
    await hands.press(page.getByRole("region", { name: "Settings after this walk" }).getByRole("button", { name: "Toe-out: more" }));
    await quiet(page);
    say(!/foot slap/.test(await suggestion.locator("p.step").innerText()), `a sign of the sound side moves no setting (${size.name})`);
    await hands.press(page.getByText("Comes from years on a misaligned limb", { exact: true }));
    await quiet(page);
    say(/the whole change now, under supervision/.test(await suggestion.innerText()) && /in parts over days to weeks/.test(await suggestion.innerText()), `years on a misaligned limb: both ways are offered (${size.name})`);
    await hands.press(page.getByText("Comes from years on a misaligned limb", { exact: true }));
    await quiet(page);
    await look(desk, "walking trials, all open");
    const before = await bars(desk);
    const said = (await suggestion.locator(".note", { hasText: "Expected:" }).innerText()).replace("Expected: ", "");
    await hands.button("Take it").dblclick(); // a hasty second tap writes nothing twice
    await page.getByText(/is now .* Move it with the limb off the ground/).waitFor();
    await quiet(page);
    const { json } = await http("GET", `limbs/${id}`);
    const walk = json.facts.find((fact) => fact.kind === "walk");
    const wanted = {
        skin: "clear", pain: 0, support: "bars", assistant: true, witness: "unbroken", holding_torque_nm: 3.2, sock_ply: 3, minutes_since_donning: 20, comfort: 6, insensate: false,
        observations: [{ sign: "lateral-thrust", phase: "loading-response", strength: 3, side: "prosthetic" }, { sign: "foot-slap", phase: "loading-response", strength: 1, side: "sound" }],
    };
    none(Object.entries(wanted).filter(([key, value]) => JSON.stringify(walk.body[key]) !== JSON.stringify(value)).map(([key, value]) => `${key}: ${JSON.stringify(walk.body[key])}, wanted ${JSON.stringify(value)}`), `the walk is stored as it was tapped (${size.name})`);
    same(walk.body.settings_after.toe_out_deg - walk.body.settings.toe_out_deg, 1, `what slipped is stored beside what was set (${size.name})`);
    const kinds = json.facts.filter((fact) => ["walk", "advice-taken", "foot-set"].includes(fact.kind)).slice(-4);
    kinds.sort((one, other) => Date.parse(one.happened_at) - Date.parse(other.happened_at) || one.id - other.id);
    same(kinds.map((fact) => fact.kind).join(), "walk,foot-set,advice-taken,foot-set", `walk, slip, choice and new setting keep their order (${size.name})`);
    const set = json.document.alignment;
    say(set.foot_outset_mm > 0 && set.toe_out_deg === 7, `the step that was taken is what is set now, on top of the slip (${size.name})`, JSON.stringify(set));
    // The next walk: what was said, what came of it, bars that narrow.
    await fourTaps(desk, "nothing seen");
    const next = await suggestion.innerText();
    say(next.includes(`Said last time: ${said}`) && /It came true/.test(next), `what was said last time, and that it came true (${size.name})`, next);
    const after = await bars(desk);
    say(Object.keys(after).length === 5 && after["Foot outset"] < before["Foot outset"], `the bracket of the moved setting is narrower (${size.name})`, `${JSON.stringify(before)} to ${JSON.stringify(after)}`);
    await hands.press(hands.button(/Write down walk 2/));
    await page.getByText("Walk 2 is written down").waitFor();
    // Skin that stays: stop, and nothing is to be moved.
    await quiet(page);
    await fourTaps(desk, "lateral thrust", { skin: "stays" });
    say((await suggestion.locator("p.stop").innerText()).startsWith("Stop: put the fit right") && (await hands.button("Take it").count()) === 0, `skin that stays marked: stop, no step (${size.name})`);
}

async function tapPad(desk, id) {
    const { page, hands, size } = desk;
    await stage(desk, id, "trials");
    await hands.press(page.getByText("Tap the footfalls", { exact: true }));
    const feet = { L: page.getByRole("button", { name: /^Left/ }), R: page.getByRole("button", { name: /^Right/ }) };
    say(/prosthetic/.test(await feet.L.innerText()) && /sound/.test(await feet.R.innerText()), `the pad says which foot is whose (${size.name})`);
    const bar = page.locator(".strip rect");
    for (let step = 0; step < 8; step++) {
        await hands.press(step % 2 ? feet.R : feet.L);
        await page.getByRole("img", { name: `${step + 1} footfalls tapped` }).waitFor();
        if (step === 3) same(await bar.count(), 3, `the strip grows with each tap (${size.name})`);
    }
    await hands.press(feet.R); // the same foot twice: one was missed
    await page.locator(".strip rect.gap").waitFor();
    say(true, `a foot that comes twice is a gap on the strip (${size.name})`);
    await hands.press(hands.button("Take back one"));
    same(await bar.count(), 7, `one tap is taken back (${size.name})`);
    if (!size.touch) {
        await feet.L.focus();
        for (const key of ["f", "j", "f"]) await page.keyboard.press(key);
        await page.getByRole("img", { name: "11 footfalls tapped" }).waitFor();
        say(true, `the keys F and J tap as well (${size.name})`);
    }
    await page.getByRole("table", { name: /steps; timing never grades/ }).waitFor();
    await look(desk, "tap pad");
}

/** Walks that show nothing more, over HTTP; then the page leads to the signature. */
async function settle(desk, id, http) {
    const { page, hands, size } = desk;
    const { json } = await http("GET", `limbs/${id}`);
    for (let walk = 0; walk < 6; walk++)
        await http("POST", `limbs/${id}/facts`, { kind: "walk", body: { settings: json.document.alignment, settings_after: json.document.alignment, observations: [{ sign: "nothing-seen" }], skin: "clear", pain: 0, support: "bars", assistant: true, witness: "unbroken", sock_ply: 3 } });
    await stage(desk, id, "standing"); // the draft is left, and what came over HTTP is read
    await stage(desk, id, "trials");
    const link = page.getByRole("link", { name: "Settle and sign" });
    await link.waitFor();
    say(/Nothing more to change/.test(await page.locator(".suggestion").innerText()), `nothing more to change: settle and sign (${size.name})`);
    await hands.press(link);
    await page.getByRole("button", { name: "Alignment settled", exact: true }).waitFor();
    await writeDown(desk, "Alignment settled", { "toe-out": "7 °" });
    const fact = (await http("GET", `limbs/${id}`)).json.facts.find((one) => one.kind === "settled");
    say(fact.signs === true && fact.who.initials === prosthetist.initials, `a prosthetist settles it by name (${size.name})`, JSON.stringify(fact));
    await look(desk, "settle");
}

const server = await serve();
const browser = await launch();
try {
    await staffed(browser, server);
    const http = await byHttp(server, technician);
    for (const size of sizes) {
        const desk = Object.assign(await open(browser, server, size), { inch: false, wrongUnits: [] });
        await attempt(`standing and walking, ${size.name}`, async () => {
            const made = await http("POST", "limbs", { document: document(`invented ${size.width}`) });
            same(made.status, 201, `a limb on its clamp (${size.name})`);
            const { id } = made.json;
            await signIn(desk, server, prosthetist);
            await standing(desk, id, http);
            await trials(desk, id, http);
            await tapPad(desk, id);
            await settle(desk, id, http);
        }, desk.page);
        none(desk.wrongUnits, `${size.name}: every box shows its unit`);
        none(desk.errors, `${size.name}: no error in the console`);
        await desk.context.close();
    }
} finally {
    await browser.close();
    await server.stop();
    finish();
}
