// SPDX-License-Identifier: GPL-3.0-or-later
// A tablet that is woken without a network: the server is really gone. The page opens all the same, says what waits, takes the
// person back when the server is there again, and what was typed arrives once.
import { attempt, finish, judge, launch, none, open, quiet, same, say, serve, sizes, small } from "./drive.mjs";
import { overview } from "./bench_hands.mjs";
import { byHttp, prosthetist, signIn, staffed, technician } from "./shop.mjs";

const server = await serve();
const browser = await launch();
try {
    await staffed(browser, server);
    const desk = await open(browser, server, sizes[0], { serviceWorkers: "allow" });
    const { page, hands } = desk;
    await attempt("reload without a network", async () => {
        const http = await byHttp(server, technician);
        const made = await http("POST", "limbs", { document: { format: "standfast-limb/1", person: { label: "invented 1", side: "left", body_mass_kg: 78 } } });
        const { id } = made.json;
        await signIn(desk, server, prosthetist);
        await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
        await page.reload(); // from here on the worker stands between
        await page.getByRole("heading", { name: "Today in the shop" }).waitFor();
        await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
        await overview(desk, id);

        await server.pause();
        for (const text of ["first, typed without a network", "second, typed without a network"]) {
            await hands.press(hands.button("Note", true));
            await hands.type(page.getByRole("dialog").getByLabel("Text"), text);
            await hands.press(page.getByRole("dialog").getByRole("button", { name: "Write it down" }));
            await page.getByText(/kept on this device, sent when/).first().waitFor();
        }
        await page.getByRole("button", { name: /2 entries here/ }).waitFor();
        say(true, "two entries are kept on the device, and seen");

        await page.reload();
        await page.getByText(/2 entries wait on this device, typed without a network by PI/).waitFor();
        say(true, "the page opens without a server, and says what waits and whose it is");
        await page.getByText("No answer from the server.").waitFor();
        none(await judge(page), "woken without a network: axe-core finds nothing");
        none(await small(page), "woken without a network: every target is 44 px or larger");
        const kept = await page.evaluate(async () => {
            const texts = [];
            for (const name of await caches.keys()) for (const request of await (await caches.open(name)).keys()) texts.push(new URL(request.url).pathname);
            return texts;
        });
        none(kept.filter((path) => path.startsWith("/api")), "no limb and no person is kept by the worker");

        await server.resume();
        await page.getByRole("button", { name: /Petra Invented, prosthetist/ }).waitFor({ timeout: 20000 });
        say(true, "the server is back: the same person is at the tablet, nothing typed again");
        await page.getByText("network: there").waitFor({ timeout: 20000 });
        await quiet(page);
        const again = await byHttp(server, technician);
        const { json } = await again("GET", `limbs/${id}`);
        const notes = json.facts.filter((fact) => fact.kind === "note").map((fact) => fact.body.text);
        same(JSON.stringify(notes), JSON.stringify(["first, typed without a network", "second, typed without a network"]), "what was typed arrives once, in its order");
        same(await page.evaluate(() => localStorage.getItem("standfast-outbox")), "[]", "and leaves the device");
    }, page);
    none(desk.errors, "no error in the console");
    await desk.context.close();
} finally {
    await browser.close();
    await server.stop();
    finish();
}
