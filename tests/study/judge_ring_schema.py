#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds what `ring` and `section` print against docs/ring.schema.json and against the list of keys that is fixed.

The judge is python3-jsonschema, which knows nothing of this program. The schema allows no key that is not named.
Beside that: every null has its note, every figure its doubt, and reasons and decision agree.

usage: judge_ring_schema.py PROGRAM MAKE_RINGS DOCS
"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

program, make_rings, docs = sys.argv[1:]
LIMB = {"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 34},
        "pylon": {"cut_height_mm": 110, "top_height_mm": 240, "expected_wall_mm": 3.8, "forming": {"model": "damp", "oven_c": 190}},
        "adapter": {"depth_mm": 25, "shank_mm": 17.4, "rim_mm": 25.4}}
SQUEEZE = {"ring": {"outer_diameter_mm": 25, "inner_diameter_mm": 17.8}, "axial_length_mm": 15, "load_n": 90, "closing_mm": 0.4,
           "seam_to_load_deg": 0, "outcome": "held"}
schema = json.loads((pathlib.Path(docs) / "ring.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
results = []

# The keys that are fixed for ring results, by name.
FIXED = """dpi polarity area_mm2 centroid_mm ix_mm4 iy_mm4 ixy_mm4 i_max_mm4 i_min_mm4 principal_deg torsion_constant_mm4
shear_centre_mm wall_min_mm wall_median_mm wall_max_mm wall_min_off_seam_mm wall_at_seam_mm outer_diameter_mean_mm
inner_diameter_mean_mm ovality_percent inscribed_diameter_mm circumscribed_diameter_mm groove_depth_mm seam_direction_deg
seam_unjoined_depth_mm voids void_area_mm2 uncertainty decision decision_basis evidence reasons causes strength repeatability
tool_version inputs_sha256 assumptions notes safety""".split()
WORDS = ["accept", "accept-with-limit", "measure-again", "reject"]


def tell(good, what, notes=()):
    results.append((bool(good), what, list(notes)))


def validator(name):
    part = schema if name is None else dict(schema["$defs"][name], **{"$defs": schema["$defs"]})
    return jsonschema.Draft202012Validator(part)


def run(*arguments):
    done = subprocess.run([program, *map(str, arguments), "--json"], capture_output=True, text=True, timeout=120)
    if done.returncode != 0:
        raise SystemExit("Bail out! %s: exit %d: %s" % (arguments, done.returncode, done.stderr))
    return json.loads(done.stdout)


def sense(result):
    """What a schema cannot say."""
    notes = " ".join(result["notes"])
    for key, value in result.items():
        if value is None and key not in notes:
            yield "%s is null without a note" % key
    doubts = result["uncertainty"]
    for key in doubts:
        there, doubt = result[key] is not None, doubts[key]["edge"]
        known = all(d is not None for d in doubt) if isinstance(doubt, list) else doubt is not None
        given = key == "seam_direction_deg" and not result["groove_depth_mm"] and not result["seam_unjoined_depth_mm"]
        if there != known and not given and "uncertainty" not in notes and result[key] != [None, None]:
            yield "%s and its doubt do not go together" % key
    if "decision" in result:
        worst = max(WORDS.index(reason["decision"]) for reason in result["reasons"])
        if result["decision"] != WORDS[worst]:
            yield "%s is not the hardest of its reasons, %s" % (result["decision"], WORDS[worst])
        if [WORDS.index(r["decision"]) for r in result["reasons"]] != sorted(
                (WORDS.index(r["decision"]) for r in result["reasons"]), reverse=True):
            yield "the hardest reason does not come first"
        if WORDS.index(result["decision"]) >= 2 and result["body_weight"]:
            yield "body weight after %s" % result["decision"]
    for word in ("safe ", "complies", "passes"):
        if word in json.dumps(result).lower():
            yield "the word '%s'" % word


def judge(what, result, part=None):
    wrong = ["%s: %s" % ("/".join(map(str, e.absolute_path)), e.message[:200]) for e in validator(part).iter_errors(result)]
    if part != "calibration":
        wrong += list(sense(result))
    tell(not wrong, what, wrong)
    return result


SCENE = {"outer_diameter_mm": 25, "wall_mm": 3.6, "dpi": 300, "width_mm": 33, "height_mm": 33, "centre_x_mm": 16.4,
         "centre_y_mm": 16.6, "noise": 0.005, "blur_px": 0.9}
SCENES = [dict(SCENE, name="plain"),
          dict(SCENE, name="grooved", groove_mm=0.9, seam_deg=280, eccentricity_mm=0.4, oval_mm=0.3, seed=2),
          dict(SCENE, name="lined", groove_mm=0.4, line_mm=1.2, line_width_mm=0.2, face=0.1, ground=0.9, seed=3),
          dict(SCENE, name="split", groove_mm=0.4, line_mm=-1, line_width_mm=0.2, seed=4),
          dict(SCENE, name="pitted", voids=[{"angle_deg": 30, "long_mm": 1.2, "short_mm": 0.9},
                                            {"angle_deg": 200, "long_mm": 0.6, "short_mm": 0.6}], seed=5),
          dict(SCENE, name="jpeg", format="jpeg", density="cm", groove_mm=0.5, seed=6),
          dict(SCENE, name="gauge", body="disc", seed=7)]

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    (folder / "scenes.json").write_text(json.dumps({"scenes": SCENES}))
    subprocess.run([make_rings, folder / "scenes.json", folder], check=True, capture_output=True)
    plain = judge("a plain ring", run("ring", folder / "plain.png"))
    judge("a grooved ring of a left limb", run("ring", folder / "grooved.png", "--nominal-wall-mm", "3.6", "--user", "adult",
                                               "--side", "left", "--posterior-deg", "270", "--face", "foot-side"))
    judge("an inked ring with a line", run("ring", folder / "lined.png", "--body-mass-kg", "40", "--shank-mm", "17", "--rim-mm",
                                           "25.6", "--outline", folder / "lined.csv"))
    judge("a line through the wall", run("ring", folder / "split.png", "--user", "child"))
    judge("voids", run("ring", folder / "pitted.png", "--seam-deg", "90"))
    judge("a tag in whole dots per cm", run("ring", folder / "jpeg.jpg"))
    judge("repeat scans", run("ring", folder / "grooved.png", folder / "grooved.png", folder / "plain.png"))
    judge("the outline of a ring", run("section", folder / "lined.csv"), "section")
    judge("a calibration", run("ring", folder / "gauge.png", "--calibrate", "--gauge-mm", "25", "-o", folder / "cal.json"),
          "calibration")
    judge("a calibrated ring", run("ring", folder / "grooved.png", "--calibration", folder / "cal.json"))
    for number, (mass, squeeze) in enumerate(((34, {}), (78, {"outcome": "cracked"}), (125, {"ring": {"outer_diameter_mm": 50,
                                                                                          "inner_diameter_mm": 40}}))):
        limb = copy.deepcopy(LIMB)
        limb["person"]["body_mass_kg"] = mass
        (folder / "limb.json").write_text(json.dumps(limb))
        (folder / "squeeze.json").write_text(json.dumps(dict(SQUEEZE, **squeeze)))
        judge("a ring of a limb of %d kg" % mass, run("ring", folder / "grooved.png", "--limb", folder / "limb.json"))
        both = judge("the same with a squeeze", run("ring", folder / "grooved.png", "--limb", folder / "limb.json", "--squeeze",
                                                    folder / "squeeze.json", "--posterior-deg", "100"))
        tell(both["evidence"] == ("picture" if squeeze else "picture+squeeze"), "evidence is %s" % both["evidence"])
        tell(both["decision_basis"] == "shop-limits+strength", "the basis names strength")
    judge("repeat scans of a limb", run("ring", folder / "grooved.png", folder / "grooved.png", "--limb", folder / "limb.json"))
    for count in (8, 24, 72):
        rows = ["%g,%g,%g" % (360 * i / count, 12.5, 3.4 + 0.2 * (i % 3)) for i in range(count)]
        (folder / "caliper.csv").write_text("angle_deg,outer_mm,wall_mm\n" + "\n".join(rows) + "\n")
        judge("caliper readings at %d places" % count, run("ring", "--caliper", folder / "caliper.csv"))

missing = [key for key in FIXED if key not in plain]
tell(not missing, "all fixed keys are there", missing)
tell(set(FIXED) <= set(schema["required"]), "the schema requires all fixed keys")

# A schema that lets everything through would judge nothing: each of these must be turned away.
spoilt = []
for change in [lambda r: r.pop("area_mm2"), lambda r: r.update(extra=1), lambda r: r.update(decision="fine"),
               lambda r: r.update(area_mm2="600"), lambda r: r["uncertainty"].pop("ix_mm4"),
               lambda r: r["uncertainty"]["ix_mm4"].pop("scale"), lambda r: r.update(centroid_mm=[1]),
               lambda r: r["reasons"][0].pop("unit"), lambda r: r.update(seam_direction_deg=360),
               lambda r: r.update(polarity="grey"), lambda r: r.update(wall_min_mm=None), lambda r: r.update(reasons=[]),
               lambda r: r.update(inputs_sha256="0"), lambda r: r["uncertainty"]["area_mm2"].update(edge=-1)]:
    result = copy.deepcopy(plain)
    change(result)
    spoilt.append(next(validator(None).iter_errors(result), None) is not None)
tell(all(spoilt), "spoilt results are turned away", [str(i) for i, caught in enumerate(spoilt) if not caught])

print("1..%d" % len(results))
for number, (good, what, notes) in enumerate(results, 1):
    for note in notes[:12]:
        print("# " + note)
    print("%sok %d - %s" % ("" if good else "not ", number, what))
sys.exit(0 if all(good for good, _, _ in results) else 1)
