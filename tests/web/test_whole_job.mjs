// SPDX-License-Identifier: GPL-3.0-or-later
// The whole job in the page, from an empty shop to release and a first follow-up: an adult by touch in metric, a child at the
// desk in inch-pound, with a wrong turn at the gates: an early screw, a heavy person, a rejected ring, a walk alone, a changed
// spacer, a crack. With TAP_LONG the adult at the desk and the child by touch as well, and each wrong turn in each round.
import { attempt, finish, launch, none, open, serve, sizes } from "./drive.mjs";
import { adult, afterRing, begin, child, earlyScrew, followUp, form, growth, plan, ring, stored, toRelease, tooHeavy, twoSided, walk } from "./whole_job.mjs";
import { byHttp, prosthetist, signIn, staffed, technician } from "./shop.mjs";

const rounds = [
    { who: adult, size: sizes[0], inch: false },
    { who: child, size: sizes[1], inch: true },
];
const all = Boolean(process.env.TAP_LONG);
if (all) rounds.push({ who: adult, size: sizes[1], inch: true }, { who: child, size: sizes[0], inch: false });
/** `node test_whole_job.mjs child touch`: the rounds that fit all words. */
const asked = process.argv.slice(2);
const name = ({ who, size, inch }) => `${who.user}, ${size.name}, ${inch ? "inch-pound" : "metric"}`;

const server = await serve();
const browser = await launch();
try {
    await staffed(browser, server);
    const http = await byHttp(server, technician);
    for (const round of rounds.filter((one) => asked.every((word) => name(one).toLowerCase().includes(word.toLowerCase())))) {
        const { who, size, inch } = round;
        const began = Date.now();
        const desk = Object.assign(await open(browser, server, size), { inch, wrongUnits: [] });
        await attempt(`the whole job, ${name(round)}`, async () => {
            await signIn(desk, server, prosthetist);
            const button = desk.page.getByRole("button", { name: inch ? "metric; change to inch-pound" : "inch-pound; change to metric" });
            if ((await button.count()) > 0) await desk.hands.press(button);
            const id = await begin(desk, who);
            if (all || who === adult) await earlyScrew(desk, id);
            await plan(desk, id, who);
            if (all || who === adult) await tooHeavy(desk, id, who, http);
            await form(desk, id, who);
            await ring(desk, id, who);
            await afterRing(desk, id, who);
            await walk(desk, id, who);
            await toRelease(desk, id, who);
            if (who.user === "Child") await growth(desk, id);
            await followUp(desk, id, who);
            await stored(id, who, http, name(round));
            if (who.user === "Adult") await twoSided(desk, id, who);
        }, desk.page);
        none(desk.wrongUnits, `${name(round)}: every measure is in this person's units`);
        none(desk.errors, `${name(round)}: no error in the console`);
        await desk.context.close();
        console.log(`# ${name(round)}: ${((Date.now() - began) / 1000).toFixed(1)} s`);
    }
} finally {
    await browser.close();
    await server.stop();
    finish();
}
