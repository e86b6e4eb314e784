// SPDX-License-Identifier: GPL-3.0-or-later
// Bundles the page: node build.mjs OUT_FOLDER [DEPFILE TARGET]. Fetches what package-lock.json pins when it is not there
// yet (npm ci --ignore-scripts), and writes a list of what the bundle was made of for the build system.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { copyFileSync, existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

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

const { build } = await import("esbuild");
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
    logLevel: "warning",
}).catch(() => process.exit(1));

copyFileSync("src/index.html", join(folder, "index.html"));
copyFileSync("src/sheet.css", join(folder, "sheet.css"));
copyFileSync("src/mark.svg", join(folder, "mark.svg"));
for (const face of ["Regular", "Bold"]) copyFileSync(join(fonts, `B612-${face}.otf`), join(folder, `b612-${face.toLowerCase()}.otf`));

if (depfile) {
    const sources = [...Object.keys(result.metafile.inputs), "src/index.html", "src/sheet.css", "src/mark.svg", "package-lock.json", "build.mjs"];
    writeFileSync(depfile, `${target}: ${sources.map((name) => resolve(here, name)).join(" ")}\n`);
}
