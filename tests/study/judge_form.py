#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds `form` against numpy's least squares and scipy's t distribution, by simulation, and against its schema.

Usage: judge_form.py PROGRAM SCHEMA PLANS
"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema
import numpy as np
from scipy import stats

program, schema_file, plans = sys.argv[1:]
schema = json.loads(pathlib.Path(schema_file).read_text())
jsonschema.Draft202012Validator.check_schema(schema)
judge = jsonschema.Draft202012Validator(schema)
given = jsonschema.Draft202012Validator(schema["$defs"]["input"])
chance = np.random.default_rng(11)
results = []


def tell(good, what, *notes):
    results.append((bool(good), what, notes))


def run(document, folder, code=0):
    file = pathlib.Path(folder) / "plan.json"
    file.write_text(json.dumps(document))
    done = subprocess.run([program, "form", str(file), "--json"], capture_output=True, text=True, timeout=60)
    if done.returncode != code:
        raise SystemExit("Bail out! exit %d for %s: %s" % (done.returncode, document, done.stderr))
    return json.loads(done.stdout) if code == 0 else done.stderr


def hot_wall(sheet, diameter, strip, flange, stretch):
    """Root of the drawn section's area, by numpy: an own way round."""
    if strip is None:
        return sheet / stretch
    return max(np.roots([np.pi, np.pi * diameter + 2 * flange, -strip * sheet / stretch]).real)


def shop(count, strip_known, level, slope, scatter, spread=1.0):
    """A shop's rings, and the wall of its next forming of 8 mm on 40 mm at the cut end."""
    rings = []
    for i in range(count):
        along = spread * i / max(1, count - 1)
        sheet, diameter = float(chance.choice([6.4, 8.0, 9.5])), float(chance.uniform(34, 46))
        strip = float(chance.uniform(150, 190)) if strip_known else None
        stretch = np.exp(level + slope * along + scatter * chance.standard_normal())
        ring = {"sheet_mm": sheet, "model_diameter_mm": diameter, "along_percent": 100 * along, "flange_mm": 12,
                "wall_mm": 0.985 * hot_wall(sheet, diameter, strip, 12, stretch)}
        rings.append(dict(ring, strip_width_mm=strip) if strip_known else ring)
    plan = {"sheet_mm": 8, "model_diameter_mm": 40, "shrinkage_percent": 1.5, "flange_mm": 12, "rings": rings}
    if strip_known:
        plan["strip_width_mm"] = 170
    following = np.exp(level + scatter * chance.standard_normal())
    return plan, 0.985 * hot_wall(8, 40, 170 if strip_known else None, 12, following)


def by_numpy(plan):
    strip_known = "strip_width_mm" in plan
    x = np.array([r["along_percent"] / 100 for r in plan["rings"]])
    y = []
    for r in plan["rings"]:
        hot = r["wall_mm"] / 0.985
        y.append(np.log(r["strip_width_mm"] * r["sheet_mm"] / (hot * (np.pi * (r["model_diameter_mm"] + hot) + 24))
                        if strip_known else r["sheet_mm"] / hot))
    y = np.array(y)
    design = np.stack([np.ones_like(x), x], axis=1)
    beta, *_ = np.linalg.lstsq(design, y, rcond=None)
    freedom = len(x) - 2
    s = max(0.01, np.sqrt(np.sum((y - design @ beta)**2) / freedom))
    half = stats.t.ppf(0.95, freedom) * s * np.sqrt(1 + np.linalg.inv(design.T @ design)[0, 0])
    walls = [0.985 * hot_wall(8, 40, plan.get("strip_width_mm"), 12, np.exp(beta[0] + k * half)) for k in (0, 1, -1)]
    return beta, s, walls


with tempfile.TemporaryDirectory() as folder:
    worst = 0
    for count in range(4, 13):
        for strip_known in (False, True):
            plan, _ = shop(count, strip_known, 0.3, 0.12, 0.04)
            got = run(plan, folder)
            beta, s, walls = by_numpy(plan)
            pairs = [(got["wall_mm"], walls[0]), (got["wall_interval_mm"][0], walls[1]), (got["wall_interval_mm"][1], walls[2]),
                     (got["calibration"]["stretch"], np.exp(beta[0])), (got["calibration"]["scatter_percent"], 100 * s),
                     (got["calibration"]["top_thinner_percent"], 100 * (1 - np.exp(-beta[1])))]
            worst = max(worst, max(abs(a / b - 1) for a, b in pairs))
    tell(worst < 1e-8, "fit and interval of 18 shops against numpy and scipy: %.1e" % worst)
    inside = 0
    for _ in range(120):
        plan, following = shop(int(chance.integers(4, 9)), bool(chance.integers(2)), chance.uniform(0.1, 0.45), chance.uniform(0, 0.3),
                               chance.uniform(0.015, 0.06))
        low, high = run(plan, folder)["wall_interval_mm"]
        inside += low <= following <= high
    # 90 % of 120 is 108 with a standard deviation of 3.3.
    tell(98 <= inside <= 117, "the next forming lies in the 90 %% interval of %d of 120 shops" % inside)
    # Before calibration: shops that keep between 60 and 85 % of the sheet, 90 % of them.
    inside, free = 0, {"sheet_mm": 8, "model_diameter_mm": 40, "shrinkage_percent": 0}
    low, high = run(free, folder)["wall_interval_mm"]
    for _ in range(400):
        kept = np.exp(chance.normal((np.log(0.6) + np.log(0.85)) / 2, (np.log(0.85) - np.log(0.6)) / 2 / 1.645))
        inside += low <= 8 * kept <= high
    tell(342 <= inside <= 378, "before calibration the interval holds %d of 400 shops" % inside)
    # Inverse: the sheet that is named leaves the wanted wall.
    for plan, _ in [shop(6, k, 0.3, 0.1, 0.03) for k in (False, True)]:
        asked = {k: v for k, v in plan.items() if k != "sheet_mm"}
        sheet = run(dict(asked, wanted_wall_mm=5.2), folder)["sheet_mm"]
        back = run(dict(asked, sheet_mm=sheet), folder)["wall_mm"]
        tell(abs(back / 5.2 - 1) < 1e-8, "sheet %.3f mm leaves %.6f mm of 5.2" % (sheet, back))

    # ---- documents against the schema ----
    plain, _ = shop(5, True, 0.3, 0.1, 0.03)
    area = copy.deepcopy(plain["rings"])
    area[0].pop("wall_mm")
    area[0]["area_mm2"] = 700
    area[1].pop("wall_mm")
    area[1].update(mass_g=15, axial_length_mm=24)
    waves = [dict(r, wall_least_mm=5, wall_most_mm=6 + 0.1 * i) for i, r in enumerate(plain["rings"])]
    variants = [json.loads(p.read_text()) for p in sorted(pathlib.Path(plans).glob("*.json"))]
    variants += [plain, dict(plain, rings=area), dict(plain, rings=waves, sheets_mm=[12, 6.4], wanted_wall_mm=5), dict(plain, rings=[]),
                 dict(plain, rings=plain["rings"][:3], length_mm=500), dict(plain, sheets_mm=[3], wanted_wall_mm=9), free,
                 {"model_diameter_mm": 30, "wanted_wall_mm": 4}, {k: v for k, v in plain.items() if k != "strip_width_mm"}]
    for number, variant in enumerate(variants):
        wrong = [e.message[:150] for e in given.iter_errors(variant)]
        result = run(variant, folder)
        wrong += ["%s: %s" % (list(e.absolute_path), e.message[:150]) for e in judge.iter_errors(result)]
        notes = " ".join(result["notes"])
        wrong += ["%s is null without a note" % k for k, v in result.items() if v is None and k not in notes and k != "wanted_wall_mm"]
        tell(not wrong, "plan %d and its result fit the schema" % number, *wrong)
    ring = plain["rings"][0]
    for spoilt in [{}, {"model_diameter_mm": 40}, dict(plain, sheet_mm=0), dict(plain, sheet_mm="8"), dict(plain, extra=1),
                   dict(plain, format="x"), dict(plain, rings=[{}]), dict(plain, rings=[dict(ring, area_mm2=700)]),
                   dict(plain, rings=[{k: v for k, v in ring.items() if k != "wall_mm"}]), dict(plain, rings=[dict(ring, wall_least_mm=5)]),
                   dict(plain, rings=[dict(ring, along_percent=120)]), dict(plain, rings=ring), dict(plain, sheets_mm=[0]),
                   dict(plain, limb=3), dict(plain, rings=[dict({k: v for k, v in ring.items() if k != "wall_mm"}, mass_g=12)])]:
        refused = next(given.iter_errors(spoilt), None) is not None
        said = run(spoilt, folder, code=3)
        tell(refused and said.startswith("standfast: form: "), "refused by both: " + said.strip()[:120])

print("1..%d" % len(results))
for number, (good, what, notes) in enumerate(results, 1):
    for note in notes[:8]:
        print("# " + note)
    print("%sok %d - %s" % ("" if good else "not ", number, what))
sys.exit(0 if all(good for good, _, _ in results) else 1)
