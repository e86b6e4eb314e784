#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent path to collapse in second order with Debian's python3-numpy and python3-scipy, for round pylons.

Written from docs/theory/collapse.md and load-line.md and from nothing else. A round tube bends in the plane of its moment, so the
section is one curve, moment over curvature, integrated over chords for a table of axial forces (no fibres). The bent line is
integrated from the lower joint by scipy's solve_ivp; the two slopes there and the force are followed step by step with
scipy.optimize.root until the force falls or the strain limit is reached.

Usage: collapse_second_order_scipy.py PROGRAM LEVELS.json CARD.json       compares as TAP; one tube
and line P3-II, all with TAP_LONG=1
"""
import json
import math
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import RectBivariateSpline
from scipy.optimize import root

JOINTS = (0.0, 0.650)  # heights of the ball joints on the standard's own axis, m
TOLERANCE = 5e-3       # relative, of the force
# Invented tubes: outer and inner diameter, cut, top, grip depth, mm.
TUBES = [("stout", 50, 37.6, 80, 230, 30), ("tall", 46, 36, 80, 330, 25)]
HARDENING = 1e-4
SLOPE, FORCE = 0.05, 5000.0  # what a step along the path is measured in


class Tube:
    """Moment and outer strain over curvature and axial force, by midpoints of 400 chords."""

    def __init__(self, outer, inner, modulus, limit, strain_limit, most):
        self.radius, self.strain_limit = outer / 2, strain_limit
        self.area = math.pi * (outer ** 2 - inner ** 2) / 4
        self.middle, self.wall = math.pi * ((outer + inner) / 4) ** 2, (outer - inner) / 2
        n = 400
        x = (np.arange(n) + 0.5) / n * outer - outer / 2
        chord = 2 * np.sqrt(np.maximum((outer / 2) ** 2 - x ** 2, 0)) - 2 * np.sqrt(np.maximum((inner / 2) ** 2 - x ** 2, 0))
        weight = chord * outer / n * self.area / (chord.sum() * outer / n)
        curvature = np.concatenate([[0], np.geomspace(1e-4, 4 * strain_limit / self.radius, 500)])
        axial = np.linspace(0, most, 10)
        moment, strain = np.empty((len(axial), len(curvature))), np.empty((len(axial), len(curvature)))

        def stress(e):
            held = np.clip(modulus * e, -limit, limit)
            return held + HARDENING * (modulus * e - held)

        for i, force in enumerate(axial):
            low, high = np.full(len(curvature), -4 * strain_limit), np.full(len(curvature), 4 * strain_limit)
            for _ in range(44):  # the axial strain that balances the force, halved for all curvatures at once
                mid = (low + high) / 2
                pull = (stress(mid[:, None] - curvature[:, None] * x) * weight).sum(axis=1) + force
                low, high = np.where(pull < 0, mid, low), np.where(pull < 0, high, mid)
            moment[i] = -(stress(low[:, None] - curvature[:, None] * x) * weight * x).sum(axis=1)
            strain[i] = np.abs(low) + curvature * self.radius
        self.axial, self.bend = axial, curvature
        self.moment, self.strain = (RectBivariateSpline(axial, np.arange(len(curvature)), table, kx=3, ky=1) for table in (moment, strain))
        self.index = np.arange(len(curvature))

    def at(self, axial):
        """Curves at one axial force: moments, curvatures, outer strains."""
        return self.moment(axial, self.index)[0], self.bend, self.strain(axial, self.index)[0]


class Path:
    def __init__(self, tube, line, slope, ends, limit, card_strain):
        self.tube, self.line, self.slope, self.ends = tube, line, slope, ends
        self.limit, self.card_strain = limit, card_strain
        self.most = 0.0

    def left(self, arm, slope, axial):
        """What torque and shear leave of yield (von Mises); the line leans as the bent pylon sees it."""
        torque = axial * abs(arm[1] * slope[0] - arm[0] * slope[1])
        tau = torque / (2 * self.tube.middle * self.tube.wall) + axial * np.hypot(*slope) / self.tube.area
        return np.sqrt(1 - 3 * (tau / self.limit) ** 2)

    def far_joint(self, start, axial):
        """Displacement at the upper joint, from the slope at the lower one; notes the greatest strain."""
        low, high = self.ends
        rest = self.left(self.line(low), self.slope, axial)
        # A law scaled in stress and strain: the same curve of axial / share, scaled; the share hardly changes along the pylon.
        moments, bends, strains = self.tube.at(axial / rest)

        def curve(arm, lean, of):
            share = self.left(arm, (self.slope - lean.T).T, axial)
            return share * np.interp(axial * np.hypot(*arm) / share, moments, of)

        def rate(z, y):
            arm = self.line(z) - y[:2]
            return np.concatenate([y[2:], curve(arm, y[2:], bends) * arm / max(np.hypot(*arm), 1e-12)])

        y = np.concatenate([start * (low - JOINTS[0]), start])
        # Equal steps (the tolerance never binds), so that the result is a smooth function of the start.
        found = solve_ivp(rate, (low, high), y, rtol=1, atol=1, first_step=(high - low) / 60, max_step=(high - low) / 60)
        arms = np.array([self.line(z) for z in found.t]).T - found.y[:2]
        within = curve(self.line(self.cut) - start * (self.cut - JOINTS[0]), start, strains)  # the grip's stiff part strains too
        self.most = max(curve(arms, found.y[2:], strains).max(), within) / self.card_strain
        return found.y[:2, -1] + found.y[2:, -1] * (JOINTS[1] - high)

    def beyond(self, before, here, length):
        """The point of the path near `length` beyond `here`, in the direction the last two points show; None when there is none."""
        ahead = (here - before) / np.linalg.norm(here - before)
        start = here + length * ahead

        def miss(u):
            return [*self.far_joint(u[:2] * SLOPE, u[2] * FORCE) * 1e3, (u - start) @ ahead]

        found = root(miss, start, method="hybr", options={"xtol": 1e-9, "eps": 1e-7})
        if np.abs(found.fun).max() > 1e-4:  # mm at the joint
            return None
        self.far_joint(found.x[:2] * SLOPE, found.x[2] * FORCE)
        return found.x

    def collapse(self):
        """Follows slopes and force from rest until the force falls or the outer strain reaches the limit."""
        small = 50.0
        first = root(lambda s: self.far_joint(s * SLOPE, small) * 1e3, [0.001, 0.001], method="hybr", options={"xtol": 1e-12}).x
        before, here, used, length = np.zeros(3), np.array([*first, small / FORCE]), self.most, 0.02
        while length > 1e-7:
            found = self.beyond(before, here, length)
            past = found is None or self.most >= 1 or found[2] < here[2]
            if past and (found is None or length > 2e-4):  # the end, or the root, lies nearer
                length /= 3
            elif past and self.most >= 1:
                share = math.log(1 / used) / math.log(self.most / used)
                return FORCE * (here[2] + share * (found[2] - here[2]))
            elif past:
                return FORCE * here[2]
            else:
                before, here, used = here, found, self.most
                length = min(1.5 * length, 0.15)
        raise SystemExit("the independent path was lost at %g N" % (FORCE * here[2]))


def solve(sizes, levels, card):
    _, outer, inner, cut, top, grip = sizes
    outer, inner, cut, top, grip = (value / 1e3 for value in (outer, inner, cut, top, grip))
    modulus, limit = card["modulus_mpa"]["value"] * 1e6, card["yield_mpa"]["value"] * 1e6
    strain = card["strain_limit"]["value"]
    area = math.pi * (outer ** 2 - inner ** 2) / 4
    tube = Tube(outer, inner, modulus, limit, strain, 0.6 * limit * area)
    forces = {}
    for level in levels["levels"]:
        for condition in level["conditions"]:
            f, o = condition["forward_mm"], condition["outward_mm"]
            slope = np.array([o["knee"] - o["ankle"], f["knee"] - f["ankle"]]) / 420
            ankle = np.array([o["ankle"], f["ankle"]]) / 1e3
            line = lambda z, a=ankle, s=slope: a + s * (z - levels["heights_mm"]["ankle"] / 1e3)
            path = Path(tube, line, slope, (cut + grip, top), limit, strain)
            path.cut = cut
            forces["%s-%s" % (level["level"], condition["condition"])] = path.collapse() * math.sqrt(1 + slope @ slope)
    return forces


def ask(program, sizes):
    name, outer, inner, cut, top, grip = sizes
    limb = {"format": "standfast-limb/1", "person": {"label": "invented " + name, "side": "right", "body_mass_kg": 70},
            "pylon": {"material": "pp-copolymer", "cut_height_mm": cut, "top_height_mm": top,
                      "rings": [{"height_mm": cut, "outer_diameter_mm": outer, "inner_diameter_mm": inner}]},
            "adapter": {"depth_mm": grip}}
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "limb.json")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(limb, file)
        run = [program, "strength", path, "--json", "--samples", "0", "--iso-axis", "--prismatic"]
        return json.loads(subprocess.run(run, stdout=subprocess.PIPE, text=True, check=True).stdout)


def main(program, levels, card):
    levels, card = (json.load(open(name, encoding="utf-8")) for name in (levels, card))
    long = os.environ.get("TAP_LONG") == "1"
    if not long:
        levels["levels"] = [dict(levels["levels"][0], conditions=levels["levels"][0]["conditions"][1:])]
    tubes = TUBES if long else TUBES[:1]
    print("1..%d" % len(tubes))
    failed = 0
    for number, sizes in enumerate(tubes, 1):
        want, worst = solve(sizes, levels, card), 0.0
        for case in ask(program, sizes)["cases"]:
            other = want.get(case["level"] + "-" + case["condition"])
            if case["force_kind"] != "proof" or not other:
                continue
            force = case["collapse_factor"] * case["force_n"]
            worst = max(worst, abs(force / other - 1))
            print("# %-8s %-6s %-18s %7.1f N, independent %7.1f N" % (sizes[0], case["level"] + "-" + case["condition"], case["mechanism"], force, other))
        failed += worst > TOLERANCE
        print("%s %d - %s: second-order collapse of %d lines agrees with an independent path within %.2f %%"
              % ("not ok" if worst > TOLERANCE else "ok", number, sizes[0], len(want), 100 * worst))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:4]))
