// SPDX-License-Identifier: GPL-3.0-or-later
// The page's fonts carry the characters that the style sheet says and no others: each kept one is drawn as by the whole font,
// and an emptied one is never asked for.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { join } from "node:path";
import { finish, launch, none, root, same, say, serve } from "./drive.mjs";

const { rangesOf, thinned } = await import(pathToFileURL(join(root, "web/thin_font.mjs")));
const whole = ["Regular", "Bold"].map((face) => readFileSync(`/usr/share/fonts/opentype/b612/B612-${face}.otf`));
const server = await serve();
const browser = await launch();
try {
    const bring = async (path) => Buffer.from(await (await fetch(server.address + path)).arrayBuffer());
    const ranges = rangesOf((await bring("sheet.css")).toString("utf8"));
    const thin = await Promise.all(["regular", "bold"].map((face) => bring(`b612-${face}.woff2`)));
    say(ranges.length > 5 && ranges[0][0] === 0 && ranges[0][1] === 0x17f, "the style sheet on the wire says which characters", JSON.stringify(ranges));
    const kept = ranges.flatMap(([first, last]) => Array.from({ length: last - first + 1 }, (_, place) => first + place)).filter((code) => code >= 0x20 && !(code >= 0x7f && code <= 0x9f));
    const page = await browser.newPage();
    const { wrong, beyond } = await page.evaluate(
        async ({ fonts, codes }) => {
            for (const [family, files, type] of fonts)
                for (const [place, weight] of ["400", "700"].entries()) {
                    const face = new FontFace(family, `url(data:font/${type};base64,${files[place]})`, { weight });
                    document.fonts.add(await face.load());
                }
            const paper = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
            const seen = (font, code) => {
                paper.clearRect(0, 0, 90, 60);
                paper.font = font;
                paper.fillText(String.fromCodePoint(code), 10, 40);
                return paper.getImageData(0, 0, 90, 60).data.join();
            };
            const differ = (code) => ["", "bold "].some((weight) => seen(`${weight}30px Thin, monospace`, code) !== seen(`${weight}30px Whole, monospace`, code));
            return { wrong: codes.filter(differ).map((code) => code.toString(16)), beyond: [0x3a9, 0x3b1, 0x2020].map(differ) };
        },
        { fonts: [["Thin", thin.map((font) => font.toString("base64")), "woff2"], ["Whole", whole.map((font) => font.toString("base64")), "otf"]], codes: kept },
    );
    none(wrong, `${kept.length} characters of both weights are drawn as by the whole fonts`);
    same(beyond[0] && beyond[1], true, "characters beyond them are emptied");
    same(beyond[2], false, "a dagger is kept");
    // Every sign in the page's own words is kept.
    const source = ["page.tsx", "shop.tsx", "said.tsx", "strength.tsx", "ring.tsx", "units.ts", "bones.tsx", "plan.tsx", "walk.tsx"].map((name) => readFileSync(join(root, "web/src", name), "utf8")).join("");
    none([...new Set(source)].filter((sign) => !ranges.some(([first, last]) => sign.codePointAt(0) >= first && sign.codePointAt(0) <= last)), "every sign in the page's words is kept");
    // One shape of three bytes belongs to no character.
    const all = thinned(whole[0], [[0, 0x10ffff]]);
    const emptied = [...all.keys()].filter((place) => all[place] !== whole[0][place]).length;
    say(all.length === whole[0].length && emptied <= 3, "with every character kept the font is the font", `${emptied} bytes`);
} finally {
    await browser.close();
    await server.stop();
}
finish();
