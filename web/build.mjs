// SPDX-License-Identifier: GPL-3.0-or-later
// Bundles the page: node build.mjs OUT_FOLDER [DEPFILE TARGET]. Fetches what package-lock.json pins when it is not there
// yet (npm ci --ignore-scripts), and writes a list of what the bundle was made of for the build system.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { brotliCompressSync, constants } from "node:zlib";
import { copyFileSync, existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { rangesOf, thinned } from "./thin_font.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const fonts = "/usr/share/fonts/opentype/b612";
const [, , out, depfile, target] = process.argv;
if (!out) {
    console.error("usage: node web/build.mjs OUT_FOLDER [DEPFILE TARGET]");
    process.exit(2);
}
process.chdir(here);

const wanted = createHash("sha256").update(readFileSync("package-lock.json")).digest("hex");
const mark = "node_modules/.fetched";
const fetched = () => existsSync(mark) && readFileSync(mark, "utf8") === wanted;
if (!fetched()) {
    // Two build folders may want it at once: whoever comes second finds it done.
    const script = `[ "$(cat ${mark} 2>/dev/null)" = ${wanted} ] || { npm ci --ignore-scripts --no-audit --no-fund && printf %s ${wanted} >${mark}; }`;
    try {
        execFileSync("flock", [".", "sh", "-c", script], { stdio: ["ignore", "pipe", "pipe"] });
    } catch (problem) {
        console.error(String(problem.stderr ?? problem).trim());
        console.error("error: npm could not fetch what web/package-lock.json pins. Mend the network (or npm's registry setting) and build again.");
        process.exit(1);
    }
}

/** An OpenType font with PostScript outlines as WOFF 2.0 (W3C Recommendation): its tables, without a transform, under Brotli. */
function woff2(font) {
    const count = font.readUInt16BE(4);
    const tables = Array.from({ length: count }, (_, place) => {
        const at = 12 + 16 * place;
        const offset = font.readUInt32BE(at + 8);
        const length = font.readUInt32BE(at + 12);
        return { tag: font.subarray(at, at + 4), length, data: font.subarray(offset, offset + length) };
    });
    const base128 = (value) => {
        const bytes = [value & 0x7f];
        for (let left = value >>> 7; left > 0; left >>>= 7) bytes.unshift((left & 0x7f) | 0x80);
        return Buffer.from(bytes);
    };
    const directory = Buffer.concat(tables.map(({ tag, length }) => Buffer.concat([Buffer.from([63]), tag, base128(length)])));
    const packed = brotliCompressSync(Buffer.concat(tables.map(({ data }) => data)), { params: { [constants.BROTLI_PARAM_MODE]: constants.BROTLI_MODE_FONT, [constants.BROTLI_PARAM_QUALITY]: 11 } });
    const header = Buffer.alloc(48);
    header.write("wOF2", 0, "latin1");
    font.copy(header, 4, 0, 4);
    const whole = header.length + directory.length + packed.length;
    const padding = (4 - (whole % 4)) % 4;
    header.writeUInt32BE(whole + padding, 8);
    header.writeUInt16BE(count, 12);
    header.writeUInt32BE(12 + 16 * count + tables.reduce((sum, { length }) => sum + ((length + 3) & ~3), 0), 16);
    header.writeUInt32BE(packed.length, 20);
    header.writeUInt16BE(1, 24);
    return Buffer.concat([header, directory, packed, Buffer.alloc(padding)]);
}

const { build, transform } = await import("esbuild");

/** The limb's schema as the forms use it: types, ranges, words; what is written in it for readers stays at home. */
const forReaders = ["$schema", "$id", "title", "description", "pattern"];
const lean = (node) => {
    if (Array.isArray(node)) return node.map(lean);
    if (node === null || typeof node !== "object") return node;
    return Object.fromEntries(Object.entries(node).filter(([key, value]) => !(forReaders.includes(key) && typeof value === "string") && key !== "additionalProperties").map(([key, value]) => [key, lean(value)]));
};
const schema = { name: "schema", setup: (own) => own.onLoad({ filter: /limb\.schema\.json$/ }, ({ path }) => ({ contents: JSON.stringify(lean(JSON.parse(readFileSync(path, "utf8")))), loader: "json" })) };
const folder = resolve(here, out);
mkdirSync(folder, { recursive: true });
const result = await build({
    entryPoints: ["src/page.tsx", "src/worker.ts"],
    outdir: folder,
    bundle: true,
    minify: true,
    format: "esm",
    target: ["es2020"],
    jsx: "automatic",
    jsxImportSource: "preact",
    legalComments: "none",
    metafile: true,
    plugins: [schema],
    logLevel: "warning",
}).catch(() => process.exit(1));

copyFileSync("src/index.html", join(folder, "index.html"));
const css = readFileSync("src/sheet.css", "utf8");
const ranges = rangesOf(css);
writeFileSync(join(folder, "sheet.css"), (await transform(css, { loader: "css", minify: true })).code);
copyFileSync("src/mark.svg", join(folder, "mark.svg"));
for (const face of ["Regular", "Bold"]) writeFileSync(join(folder, `b612-${face.toLowerCase()}.woff2`), woff2(thinned(readFileSync(join(fonts, `B612-${face}.otf`)), ranges)));

if (depfile) {
    const sources = [...Object.keys(result.metafile.inputs), "src/index.html", "src/sheet.css", "src/mark.svg", "package-lock.json", "build.mjs", "thin_font.mjs"];
    writeFileSync(depfile, `${target}: ${sources.map((name) => resolve(here, name)).join(" ")}\n`);
}
