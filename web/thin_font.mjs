// SPDX-License-Identifier: GPL-3.0-or-later
// An OpenType font with PostScript outlines (CFF, Adobe Technical Note 5176) without the shapes of characters that the page leaves
// to another font: places stay as they are, an emptied shape is `endchar` and noughts, which pack to nothing. Which characters
// are kept is read from `unicode-range` in the style sheet, so that the browser never asks for an emptied one.

/** The ranges of "U+0-17F, U+2190": pairs of first and last. */
export function rangesOf(css) {
    const text = /unicode-range:([^;}]+)/.exec(css)?.[1];
    if (!text) throw new Error("the style sheet says no unicode-range");
    return [...text.matchAll(/U\+([0-9A-Fa-f]+)(?:-([0-9A-Fa-f]+))?/g)].map(([, first, last]) => [parseInt(first, 16), parseInt(last ?? first, 16)]);
}

function tables(font) {
    const found = {};
    for (let place = 0; place < font.readUInt16BE(4); place++) {
        const at = 12 + 16 * place;
        const offset = font.readUInt32BE(at + 8);
        found[font.toString("latin1", at, at + 4)] = font.subarray(offset, offset + font.readUInt32BE(at + 12));
    }
    return found;
}

/** Glyphs by character, of the format 4 subtable for Unicode (ISO/IEC 14496-22, cmap). */
function glyphs(cmap) {
    const map = new Map();
    for (let place = 0; place < cmap.readUInt16BE(2); place++) {
        const table = cmap.subarray(cmap.readUInt32BE(8 + 8 * place));
        if (table.readUInt16BE(0) !== 4) continue;
        const segments = table.readUInt16BE(6) / 2;
        for (let i = 0; i < segments; i++) {
            const at = (part) => 14 + 2 * i + part * 2 * segments + (part > 0 ? 2 : 0);
            const [last, first, delta, offset] = [0, 1, 2, 3].map((part) => table.readUInt16BE(at(part)));
            for (let code = first; code <= last && code !== 0xffff; code++) {
                const listed = offset === 0 ? code : table.readUInt16BE(at(3) + offset + 2 * (code - first));
                const glyph = listed === 0 ? 0 : (listed + delta) & 0xffff;
                if (glyph !== 0) map.set(code, glyph);
            }
        }
    }
    return map;
}

/** Where each item of an INDEX lies, and where the INDEX ends. */
function index(cff, at) {
    const count = cff.readUInt16BE(at);
    if (count === 0) return { items: [], end: at + 2 };
    const size = cff[at + 2];
    const base = at + 2 + (count + 1) * size;
    const place = (i) => base + cff.readUIntBE(at + 3 + i * size, size);
    return { items: Array.from({ length: count }, (_, i) => [place(i), place(i + 1)]), end: place(count) };
}

/** The offset that the top DICT gives for the shapes (operator 17). */
function shapesAt(cff, [from, to]) {
    let operand = 0;
    for (let i = from; i < to; ) {
        const byte = cff[i];
        if (byte === 17) return operand;
        if (byte <= 21) i += byte === 12 ? 2 : 1;
        else if (byte === 28) [operand, i] = [cff.readInt16BE(i + 1), i + 3];
        else if (byte === 29) [operand, i] = [cff.readInt32BE(i + 1), i + 5];
        else if (byte === 30) {
            do i++;
            while ((cff[i] & 15) !== 15 && cff[i] >> 4 !== 15);
            i++;
        } else if (byte <= 246) [operand, i] = [byte - 139, i + 1];
        else [operand, i] = [byte <= 250 ? (byte - 247) * 256 + cff[i + 1] + 108 : -(byte - 251) * 256 - cff[i + 1] - 108, i + 2];
    }
    throw new Error("the font's outlines are not where CFF has them");
}

/** A copy of the font with the shapes of these ranges only. */
export function thinned(font, ranges) {
    const copy = Buffer.from(font);
    const { cmap, "CFF ": cff } = tables(copy);
    const kept = new Set([0]);
    for (const [code, glyph] of glyphs(cmap)) if (ranges.some(([first, last]) => code >= first && code <= last)) kept.add(glyph);
    const top = index(cff, index(cff, cff[2]).end);
    const shapes = index(cff, shapesAt(cff, top.items[0])).items;
    shapes.forEach(([from, to], glyph) => {
        if (!kept.has(glyph)) cff.fill(0, from, to).writeUInt8(14, from);
    });
    return copy;
}
