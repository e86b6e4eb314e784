// SPDX-License-Identifier: GPL-3.0-or-later
// Which face of the ring lay on the glass, from its two pen marks.

/**
 * Outward is a quarter turn from posterior, one way or the other: counter-clockwise in the picture for a right limb with the
 * face toward the limb on the glass, clockwise for a left limb or the other face. Angles in picture degrees; off_deg is how
 * far the two marks are from a quarter turn.
 */
export function faceOf(side: "left" | "right", posterior: number, outward: number): { face: "limb-side" | "foot-side"; off_deg: number } {
    const turn = ((((outward - posterior) % 360) + 540) % 360) - 180;
    return { face: turn > 0 === (side === "right") ? "limb-side" : "foot-side", off_deg: Math.abs(Math.abs(turn) - 90) };
}
