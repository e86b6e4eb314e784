// SPDX-License-Identifier: GPL-3.0-or-later
// A shop of invented people in a fresh store: the first admin by the printed link, the others added in the page. And its
// hands over HTTP, for the second editor and for looking at what the server holds.
import { open, sizes } from "./drive.mjs";

export const admin = { name: "Adam Invented", initials: "AD", password: "a plain invented admin", pin: "4711" };
export const prosthetist = { name: "Petra Invented", initials: "PI", role: "prosthetist", licence: "invented 12", password: "a plain invented password", pin: "2580" };
export const technician = { name: "Theo Invented", initials: "TI", role: "technician", licence: "", password: "another invented password", pin: "1379" };
export const reader = { name: "Rita Invented", initials: "RI", role: "reader", licence: "", password: "a third invented password", pin: "8642" };

export async function firstAdmin({ page, hands }, server) {
    await page.goto(server.link);
    await hands.type(hands.box("Name"), admin.name);
    await hands.type(hands.box("Initials"), admin.initials);
    await hands.type(hands.box("Password"), admin.password);
    await hands.type(hands.box("PIN"), admin.pin);
    await hands.press(hands.button("Make"));
    await page.getByRole("heading", { name: "People" }).waitFor();
}

export async function addPerson({ page, hands }, person) {
    await hands.press(hands.button("Add a person"));
    const form = page.locator("form.fact");
    await hands.type(form.getByLabel("Name", { exact: true }), person.name);
    await hands.type(form.getByLabel("Initials"), person.initials);
    await hands.press(hands.word("Role", person.role));
    await hands.type(form.getByLabel("Licence"), person.licence);
    await hands.type(form.getByLabel("Password"), person.password);
    await hands.type(form.getByLabel("PIN"), person.pin);
    await hands.press(hands.button("Save"));
    await page.getByRole("rowheader", { name: person.name }).waitFor();
}

export async function signIn({ page, hands }, server, person) {
    await page.goto(server.address);
    await hands.type(hands.box("Name"), person.name);
    await hands.type(hands.box("Password"), person.password);
    await hands.press(hands.button("Sign in"));
    await page.getByRole("heading", { name: "Today in the shop" }).waitFor();
}

/** A new shop with its first admin, a prosthetist and a technician; nobody is signed in. */
export async function staffed(browser, server) {
    const first = await open(browser, server, sizes[1]);
    await firstAdmin(first, server);
    for (const person of [prosthetist, technician]) await addPerson(first, person);
    await first.context.close();
}

/** The same person on another tablet, by HTTP. */
export async function byHttp(server, person) {
    const base = `${server.address}api/`;
    const begun = await fetch(`${base}sign-in`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ name: person.name, password: person.password }) });
    if (!begun.ok) throw new Error(`sign-in over HTTP: ${begun.status} ${await begun.text()}`);
    // Node 18 has no getSetCookie(): several cookies come in one line, and a comma within a date has no name behind it.
    const set = (begun.headers.get("set-cookie") ?? "").split(/,(?=\s*[^;,\s]+=)/);
    const cookie = set.map((one) => one.trim().split(";")[0]).join("; ");
    const { csrf } = await begun.json();
    return async (method, path, body, more = {}) => {
        const answer = await fetch(base + path, { method, headers: { Cookie: cookie, "X-CSRF-Token": csrf, "Content-Type": "application/json", ...more }, body: body === undefined || body instanceof Uint8Array ? body : JSON.stringify(body) });
        const text = await answer.text();
        return { status: answer.status, json: text.startsWith("{") ? JSON.parse(text) : null };
    };
}
