#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent fibre sum with Debian's python3-numpy and python3-scipy: the force at which a section reaches the strain limit.

Written from docs/theory/collapse.md and from nothing else. Each ring's measured outline is covered with a square grid of points;
plane strain states are found by scipy.optimize.root on the three equilibrium equations; the force by brentq on the outermost
strain. First order on the standard's own axis, so the section alone decides. Torque is taken about the axis, so an off-centre ring
whose shear centre lies elsewhere is off by up to 0.8 % on heel lines.

Usage: collapse_scipy.py OUTLINE.csv LEVELS.json CARD.json                 prints the collapse force of every level and condition
       collapse_scipy.py --check PROGRAM LEVELS.json CARD.json PICTURE...  measures the pictures with the program and compares, as TAP
"""
import csv
import json
import math
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy.optimize import brentq, root

CUT, TOP = 0.080, 0.200
GRID = 0.0001       # m
TOLERANCE = 5e-3    # relative, of the force


def outline(name):
    curves = {}
    with open(name, encoding="utf-8") as file:
        for row in csv.DictReader(line for line in file if not line.startswith("#")):
            curves.setdefault(row["curve"], []).append((float(row["x_mm"]) / 1e3, float(row["y_mm"]) / 1e3))
    return {key: np.array(points) for key, points in curves.items()}


def inside(points, polygon):
    """Even-odd rule for a grid whose rows share y: crossings row by row."""
    xs, ys = points
    hit = np.zeros((len(ys), len(xs)), bool)
    a, b = polygon, np.roll(polygon, -1, axis=0)
    for j, y in enumerate(ys):
        cross = (a[:, 1] > y) != (b[:, 1] > y)
        x = np.sort(a[cross, 0] + (y - a[cross, 1]) / (b[cross, 1] - a[cross, 1]) * (b[cross, 0] - a[cross, 0]))
        hit[j] = np.searchsorted(x, xs) % 2 == 1
    return hit


def area_centroid(p):
    q = np.roll(p, -1, axis=0)
    c = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    return abs(c.sum()) / 2, ((p + q) * c[:, None]).sum(axis=0) / (3 * c.sum())


class Section:
    def __init__(self, curves):
        outer, inner = curves["outer"], curves["inner"]
        shift = area_centroid(outer)[1]  # the program puts the outer curve's middle on the axis
        outer, inner = outer - shift, inner - shift
        half = np.abs(outer).max() + GRID
        at = np.arange(-half, half, GRID) + 0.37 * GRID
        wall = inside((at, at), outer) & ~inside((at, at), inner)
        x, y = np.meshgrid(at, at)
        self.p = np.stack([x[wall], y[wall]])
        self.a = (area_centroid(outer)[0] - area_centroid(inner)[0]) / wall.sum()
        self.area = self.a * wall.sum()
        self.mid = self.p.mean(axis=1)
        self.p -= self.mid[:, None]
        self.edge = outer.T - self.mid[:, None]
        # Torsion: thinnest wall along rays from the bore's middle, area within the middle line.
        turn = np.radians(np.arange(0, 360, 1.0))
        middle = area_centroid(inner)[1]
        radii = []
        for curve in (outer, inner):
            angle = np.unwrap(np.arctan2(*(curve - middle)[:, ::-1].T))
            order = np.argsort(np.mod(angle, 2 * np.pi))
            radii.append(np.interp(turn, np.mod(angle, 2 * np.pi)[order], np.hypot(*(curve - middle).T)[order],
                                   period=2 * np.pi))
        self.wall = (radii[0] - radii[1]).min()
        self.enclosed = ((radii[0] + radii[1]) ** 2 / 8).mean() * 2 * np.pi


def strain_at(section, card, axial, moment, share, guess):
    modulus, limit = card["modulus_mpa"]["value"] * 1e6, share * card["yield_mpa"]["value"] * 1e6
    x, y = section.p
    scale = np.array([limit * section.area, limit * section.area * 0.02, limit * section.area * 0.02])

    def miss(u):
        e = u[0] * 1e-2 - u[1] * x - u[2] * y
        s = np.clip(modulus * e, -limit, limit)
        return (np.array([s.sum(), -(s * x).sum(), -(s * y).sum()]) * section.a + [axial, -moment[0], -moment[1]]) / scale

    found = root(miss, guess, method="hybr", options={"xtol": 1e-10})
    if np.abs(found.fun).max() > 1e-6:
        return None, guess
    u = found.x
    return np.abs(u[0] * 1e-2 - u[1] * section.edge[0] - u[2] * section.edge[1]).max(), u


def collapse_force(section, card, condition, levels):
    f, o = condition["forward_mm"], condition["outward_mm"]
    slope = np.array([o["knee"] - o["ankle"], f["knee"] - f["ankle"]]) / 420
    n = math.sqrt(1 + slope @ slope)
    limit = card["strain_limit"]["value"]
    least = math.inf
    for height in (CUT, TOP):
        line = np.array([o["ankle"], f["ankle"]]) / 1e3 + slope * (height - levels["heights_mm"]["ankle"] / 1e3)
        arm = line - section.mid

        def excess(force, state={}):
            axial = force / n
            torque = axial * (line[1] * slope[0] - line[0] * slope[1])
            tau = abs(torque) / (2 * section.enclosed * section.wall) + axial * np.hypot(*slope) / section.area
            share = math.sqrt(max(1 - 3 * (tau / (card["yield_mpa"]["value"] * 1e6)) ** 2, 1e-9))
            strain, guess = strain_at(section, card, axial, axial * arm, share, state.get("u", [0, 1, 1]))
            if strain is None:
                return 10.0
            state["u"] = guess
            return math.log(strain / limit)

        low = 200.0
        while excess(low * 1.1) < 0:
            low *= 1.1
        least = min(least, brentq(excess, low, low * 1.1, rtol=1e-4))
    return least


def solve(curves, levels, card):
    section = Section(curves)
    return {"%s-%s" % (level["level"], c["condition"]): collapse_force(section, card, c, levels)
            for level in levels["levels"] for c in level["conditions"]}


def check(program, levels, card, pictures):
    print("1..%d" % len(pictures))
    failed = 0
    for number, picture in enumerate(pictures, 1):
        with tempfile.TemporaryDirectory() as folder:
            curve, limb = os.path.join(folder, "ring.csv"), os.path.join(folder, "limb.json")
            truth = json.load(open(os.path.splitext(picture)[0] + ".truth.json", encoding="utf-8"))
            subprocess.run([program, "ring", picture, "--dpi", str(truth.get("dpi", 600)), "--outline", curve, "--json"],
                           stdout=subprocess.DEVNULL, check=True)
            json.dump({"format": "standfast-limb/1", "person": {"side": "right", "body_mass_kg": 70},
                       "pylon": {"material": "pp-copolymer", "cut_height_mm": CUT * 1e3, "top_height_mm": TOP * 1e3,
                                 "rings": [{"height_mm": CUT * 1e3, "outline": "ring.csv"}]}}, open(limb, "w", encoding="utf-8"))
            run = [program, "strength", limb, "--json", "--samples", "0", "--iso-axis", "--first-order", "--prismatic"]
            ours = json.loads(subprocess.run(run, capture_output=True, text=True, check=True).stdout)
            mine = solve(outline(curve), levels, card)
        worst = 0
        for case in ours["cases"]:
            if case["force_kind"] == "proof":
                want = mine[case["level"] + "-" + case["condition"]]
                off = case["collapse_factor"] * case["force_n"] / want - 1
                worst = max(worst, abs(off))
                if abs(off) > TOLERANCE:
                    print("# %s: %.0f N, fibre sum %.0f N" % (case["name"], case["collapse_factor"] * case["force_n"], want))
        failed += worst > TOLERANCE
        print("%s %d - %s: collapse of six lines agrees with an independent fibre sum within %.2f %%"
              % ("not ok" if worst > TOLERANCE else "ok", number, os.path.basename(picture), 100 * worst))
    return 1 if failed else 0


def main(argv):
    if argv[0] == "--check":
        levels, card = (json.load(open(name, encoding="utf-8")) for name in argv[2:4])
        return check(argv[1], levels, card, argv[4:])
    levels, card = (json.load(open(name, encoding="utf-8")) for name in argv[1:3])
    print(json.dumps(solve(outline(argv[0]), levels, card)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
