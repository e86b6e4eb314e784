// SPDX-License-Identifier: GPL-3.0-or-later
// What a prosthetist and a technician do at the page, step by step: facts through their forms, with the last look where it
// comes, and the limb's file through its fields.
import { join } from "node:path";
import { quiet, root } from "./drive.mjs";

export const rings = join(root, "tests/data/known_rings");

/** What a person who works in inch-pound reads and types instead; factors of NIST SP 811, appendix B. */
const pounds = {
    mm: ["in", (value) => value / 25.4],
    kg: ["lb", (value) => value / 0.45359237],
    g: ["lb", (value) => value / 453.59237],
    "N·m": ["lbf·in", (value) => value / 0.1129848290276167],
    N: ["lbf", (value) => value / 4.4482216152605],
    "°C": ["°F", (value) => value * 1.8 + 32],
};

/** Types "1740 mm" as this person has it, and looks whether the box says that unit. */
async function typeMeasure(desk, box, label, value, unit) {
    const [shown, turned] = (desk.inch && pounds[unit]) || [unit, (same) => same];
    const said = await box.evaluate((one) => one.closest(".entry")?.querySelector(".unit")?.textContent ?? "");
    if (said !== shown) desk.wrongUnits.push(`${label}: the box says "${said}", wanted "${shown}"`);
    await desk.hands.type(box, String(Number(turned(Number(value)).toFixed(desk.inch ? 5 : 3))));
}

/** Fills the fields of the form that is open: numbers and texts are typed, words tapped; "12 mm" is typed in this person's units. */
export async function fill(desk, scope, fields) {
    const { page, hands } = desk;
    for (const [label, value] of Object.entries(fields)) {
        const name = label.charAt(0).toUpperCase() + label.slice(1);
        const box = scope.getByLabel(name, { exact: true }).and(page.locator("input:not([type=radio]), textarea"));
        const measure = /^(-?[\d.]+) (mm|kg|g|N·m|N|°C|°)$/.exec(value);
        if (measure) await typeMeasure(desk, box.first(), name, measure[1], measure[2]);
        else if (typeof value === "string" && value.startsWith("tap:")) await hands.press(scope.getByRole("group", { name }).locator("label", { hasText: new RegExp(`^${value.slice(4)}$`) }));
        else await hands.type(box.first(), value);
    }
}

/** Opens a stage of the limb, and waits until all of it is there: what stood there before may look alike. */
export async function stage(desk, id, name) {
    await desk.hands.go("limb", id, name);
    await desk.page.getByRole("heading", { level: 1, name: new RegExp(`: ${name.replaceAll("-", " ")}$`) }).waitFor();
    await desk.page.getByRole("region", { name: name === "strength" ? "Another choice" : "What this stage needs" }).waitFor();
    await quiet(desk.page);
}

/** Opens the limb itself. */
export async function overview(desk, id) {
    await desk.hands.go("limb", id);
    await desk.page.getByRole("complementary", { name: "What now" }).waitFor();
    await quiet(desk.page);
}

/** Writes one fact down at a stage; two people look first where the rule says so. */
export async function writeDown(desk, title, fields, more = {}) {
    const { page, hands } = desk;
    const button = hands.button(title, true);
    if ((await button.count()) === 0 || !(await button.first().isVisible())) {
        const fold = page.getByText("Something was changed", { exact: true });
        if ((await fold.count()) > 0) await hands.press(fold);
    }
    await hands.press(button.first());
    const dialog = page.getByRole("dialog");
    await dialog.waitFor();
    const listener = dialog.getByLabel("Initials of the listener");
    let looked = false;
    if ((await listener.count()) > 0) {
        looked = true;
        if (more.look) await more.look();
        await hands.type(listener, "TI");
        await hands.press(hands.button("It is so"));
        await page.getByRole("dialog", { name: title, exact: true }).waitFor();
    }
    if (more.first) await more.first(dialog);
    await fill(desk, dialog, fields);
    await hands.press(dialog.getByRole("button", { name: "Write it down" }));
    await dialog.waitFor({ state: "detached" });
    await page.getByText(`${title}: written down.`, { exact: true }).waitFor();
    await quiet(page);
    return looked;
}

/** Fields of the limb's file, in the form that has them. */
export async function saveFields(desk, fields) {
    const { page, hands } = desk;
    const first = Object.keys(fields)[0];
    const form = page.locator("form.fact", { has: page.getByLabel(first, { exact: true }).or(page.getByRole("group", { name: first })) }).first();
    await fill(desk, form, fields);
    await hands.press(form.getByRole("button", { name: /^Save/ }));
    await form.getByText("Saved.").waitFor();
    await quiet(page);
}

/** The state of a stage as the path shows it. */
export const stateOf = async (desk, title) =>
    (await desk.page.getByRole("navigation", { name: "Stages" }).getByRole("link", { name: new RegExp(`${title}`) }).first().locator(".state").innerText()).trim();
