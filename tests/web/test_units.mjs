// SPDX-License-Identifier: GPL-3.0-or-later
// Units as the page shows and reads them, and the rule by which two pen marks say which face lay on the glass.
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { finish, require, root, same, say } from "./drive.mjs";

const { build } = require("esbuild");
const folder = mkdtempSync(join(tmpdir(), "standfast-units-"));
const bundle = async (name) => {
    const outfile = join(folder, `${name}.mjs`);
    await build({ entryPoints: [join(root, `web/src/${name}.ts`)], outfile, bundle: true, format: "esm", platform: "node", logLevel: "error" });
    return import(pathToFileURL(outfile));
};
const units = await bundle("units");
const marks = await bundle("pen_marks");

const close = (got, wanted, part, what) => say(Math.abs(got - wanted) <= part * Math.abs(wanted), what, `got ${got}, wanted ${wanted}`);

// Factors: NIST SP 811 (2008), appendix B.9, to the digits printed there.
units.setUnits("inch");
for (const [measure, factor, words] of [
    ["mm", 25.4, "inch"],
    ["kg", 0.45359237, "pound"],
    ["nm", 0.1129848, "pound-force inch"],
    ["mpa", 6.894757e-3, "pound-force per square inch"],
    ["n", 4.448222, "pound-force"],
    ["mm2", 645.16, "square inch"],
    ["mm4", 416231.4, "inch to the fourth"],
    ["ml", 29.57353, "fluid ounce"],
])
    close(units.fromShown(1, measure), factor, 1e-6, `one ${words} is what NIST SP 811 says`);
close(units.toShown(20, "c"), 68, 1e-12, "20 °C are 68 °F");
close(units.toShown(-40, "c"), -40, 1e-12, "-40 is the same on both");
same(units.read("3/16", "mm"), 4.7625, "3/16 of an inch is read");
same(units.read("4 3/16", "mm"), 106.3625, "4 3/16 inches are read");
same(units.read("-1/2", "mm"), -12.7, "a fraction below nought");
same(units.read("6,2", "deg"), 6.2, "a comma is a point");
for (const bad of ["", "six", "1/0", "1e3", "--2", "3 4", "0x10", "6.2mm"]) same(units.read(bad, "mm"), null, `"${bad}" is no number`);
units.setUnits("metric");
same(units.read("6.2", "mm"), 6.2, "a metric number goes in as it stands");
same(units.figure(null, "mm"), "—", "what does not exist is a dash, not a nought");
same(units.figure(-0.01, "mm"), "0.0 mm", "no minus before nought");
same(units.figure(-3.26, "deg", 1), "−3.3°", "a true minus sign");
same(units.measureOf("wall_min_mm"), "mm", "the key says that it is a length");
same(units.measureOf("ix_mm4"), "mm4", "and a second moment");
same(units.measureOf("sock_ply"), "none", "and a plain count");
say(/2\.0 lbf·ft/.test(units.torqueThrice(2.7)) && /24 lbf·in/.test(units.torqueThrice(2.7)), "torque stands in three units", units.torqueThrice(2.7));
// What goes in comes out: no value moves by being shown and saved again.
units.setUnits("inch");
let moved = 0;
for (let value = 1; value <= 600; value++) {
    const shown = units.typed(value, "mm");
    moved = Math.max(moved, Math.abs(units.read(shown, "mm") - value));
}
say(moved < 0.0015, "a length in millimetres shown in inches is off by less than 0.0015 mm", `off by ${moved}`);
same(units.worded("within 15 cm, 5.5 mm thick, -5 mm off, 80 kg at 195 °C, 5 N·m"), "within 5.906 in, 0.217 in thick, −0.197 in off, 176.4 lb at 383 °F, 44.3 lbf·in", "a sentence of the server in this person's units");
same(units.worded("23.5 mm2, 3 mmol, lot 5 kgx, step 2 of 3"), "23.5 mm2, 3 mmol, lot 5 kgx, step 2 of 3", "and nothing else of it is touched");
same(units.worded("not known without foot.largest_length_mm, person.side is missing; see page 3.5"), "not known without largest length, side is missing; see page 3.5", "keys of the file become words");
same(units.figure(15, "mm", 0), "0.59 in", "what is whole in millimetres is not rounded to whole inches");
units.setUnits("metric");
same(units.worded("5 mm"), "5 mm", "in metric a sentence stays as it is");

// Marks: by the rule of the frames. Right limb, face toward the limb: limb angle = picture angle - posterior + 270, outward
// is limb angle 0. A left limb or the other face mirrors; both together cancel.
for (const side of ["right", "left"])
    for (const face of ["limb-side", "foot-side"])
        for (const posterior of [0, 90, 200, 359]) {
            const mirrored = (side === "left") !== (face === "foot-side");
            const outward = posterior + (mirrored ? -90 : 90);
            for (const slip of [-20, 0, 20]) {
                const got = marks.faceOf(side, posterior, (((outward + slip) % 360) + 360) % 360);
                if (got.face !== face || Math.abs(got.off_deg - Math.abs(slip)) > 1e-9) say(false, `${side} limb, ${face}, posterior at ${posterior}, slip ${slip}`, JSON.stringify(got));
            }
        }
say(true, "two pen marks name the face of 48 rings");
same(Math.round(marks.faceOf("right", 10, 190).off_deg), 90, "marks opposite each other are far from a quarter turn");

// When a fact happened, by the server's clock. HTTP's Date is cut to whole seconds (RFC 9110, 5.6.7): a page that takes it
// as it stands puts a fact before one that was written down up to a second earlier.
const clock = await bundle("clock");
const realNow = Date.now;
for (const [words, skew] of [["a tablet that is 7 s fast", -7000], ["a tablet that is 90 s slow", 90000], ["a tablet that goes right", 0]]) {
    let here = 1.8e12; // some day; only differences count
    Date.now = () => here;
    let before = -Infinity;
    let back = 0;
    let early = 0;
    let late = 0;
    for (let step = 0; step < 400; step++) {
        here += 137;
        const asked = here;
        here += 20; // on the wire
        const server = here + skew;
        clock.readClock(Math.floor(server / 1000) * 1000, asked, here + 5);
        here += 5;
        const said = Date.parse(clock.serverTime());
        if (said < before) back++;
        before = said;
        if (step > 20) {
            early = Math.max(early, said - (here + skew));
            late = Math.max(late, here + skew - said);
        }
    }
    same(back, 0, `${words}: 400 facts keep their order`);
    say(early <= 0 && late < 200, `${words}: never ahead of the server, and less than 0.2 s behind it`, `ahead ${early} ms, behind ${late} ms`);
    before = Date.parse(clock.serverTime());
}
Date.now = realNow;
rmSync(folder, { recursive: true, force: true });

// The page as a whole against its own types.
const checked = spawnSync(process.execPath, [require.resolve("typescript/bin/tsc"), "--noEmit", "-p", join(root, "web")], { encoding: "utf8" });
say(checked.status === 0, "the page's types hold", checked.stdout);
finish();
