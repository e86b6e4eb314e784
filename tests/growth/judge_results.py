#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the results of length, growth, fasten, vent and mass against their schemas, over whole and thinned documents.

Usage: judge_results.py PROGRAM ROOT

Every example is run as it is, then again and again with one optional part left out: the result must still be what its
schema says, or the program must refuse with exit 3 and name a field. The short run leaves out a third of the parts in each
example, another third in the next; TAP_LONG leaves out each in all of them. TAP on stdout.
"""
import copy
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import jsonschema

program, root = str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2])
COMMANDS = {"length": [], "growth": ["--as-of", "2026-08-01", "--months", "3"], "fasten": [], "vent": [],
            "mass": ["--weighed-g", "1500"], "parts": ["--parts", "one_of_each.json"]}
PARTS = ["socket", "pylon", "adapter", "spacers", "stock", "foot", "shoe", "cover", "alignment", "person.sex",
         "person.birth_date", "person.stature_mm", "person.sound_knee_height_mm", "person.stature_history",
         "person.knee_height_history", "person.levelling_block_history", "person.prosthesis_knee_height_mm",
         "person.prosthesis_set_date", "person.target_difference_mm", "pylon.rings", "pylon.holes", "adapter.rim_mm",
         "adapter.screw_diameter_mm", "adapter.permanent_fixing", "adapter.permanent_torque_nm", "adapter.foot_bolt",
         "foot.compression_mm", "shoe.heel_mm", "socket.suspension", "socket.pumped_volume_ml"]


def thinned(document, path):
    out = copy.deepcopy(document)
    place = out
    *way, last = path.split(".")
    for key in way:
        place = place.get(key, {})
    if last not in place:
        return None
    del place[last]
    return out


def trouble(command, document, folder, validator):
    file = pathlib.Path(folder) / "limb.json"
    file.write_text(json.dumps(document))
    run = subprocess.run([program, command, str(file), *COMMANDS[command], "--json"], capture_output=True, text=True, timeout=60, cwd=folder)
    if run.returncode == 3:
        return None if re.search(r"[a-z]+\.[a-z_]+", run.stderr) and not run.stdout else "refused without a field: " + run.stderr
    if run.returncode != 0:
        return "exit %d: %s" % (run.returncode, run.stderr)
    result = json.loads(run.stdout)
    problems = ["%s: %s" % (list(e.absolute_path), e.message[:120]) for e in validator.iter_errors(result)]
    if any(v is None for v in result.values()) and not result["notes"] and command != "vent":
        problems.append("a null without a note")
    return "; ".join(problems[:3]) or None


count = 0
failed = 0
with tempfile.TemporaryDirectory() as folder:
    shop = json.loads((root / "data/parts.json").read_text())
    (pathlib.Path(folder) / "one_of_each.json").write_text(json.dumps({**shop, "feet": shop["feet"][1:2], "adapters": shop["adapters"][1:2]}))
    for command in COMMANDS:
        schema = json.loads((root / "docs" / (command + ".schema.json")).read_text())
        jsonschema.Draft202012Validator.check_schema(schema)
        validator = jsonschema.Draft202012Validator(schema)
        for turn, example in enumerate(sorted((root / "data/examples").glob("*.json"))):
            document = json.loads(example.read_text())
            if document.get("format") != "standfast-limb/1":
                continue
            found = []
            for path in [None] + (PARTS if os.environ.get("TAP_LONG") else PARTS[turn % 3::3]):
                changed = document if path is None else thinned(document, path)
                if changed is None:
                    continue
                problem = trouble(command, changed, folder, validator)
                if problem:
                    found.append("without %s: %s" % (path, problem))
            count += 1
            failed += bool(found)
            print("%sok %d - %s of %s" % ("not " if found else "", count, command, example.stem))
            for line in found[:5]:
                print("# " + line.replace("\n", " "))
    # A stack's first yield is that of the limb raised by what was added, as the strength command gives it.
    child = json.loads((root / "data/examples/child.json").read_text())
    (pathlib.Path(folder) / "limb.json").write_text(json.dumps(child))
    ask = lambda *words: json.loads(subprocess.run([program, *words, "--json"], capture_output=True, text=True).stdout)
    stack = ask("growth", folder + "/limb.json", "--as-of", "2026-07-04")["stacks"][0]
    added = stack["total_mm"] - sum(s["thickness_mm"] for s in child["spacers"])
    for place, key in ((child["pylon"], "cut_height_mm"), (child["pylon"], "top_height_mm"),
                       (child["socket"], "distal_end_height_mm"), (child["person"], "sound_knee_height_mm")):
        place[key] += added
    for part in child["pylon"]["rings"] + child["pylon"].get("holes", []):
        part["height_mm"] += added
    (pathlib.Path(folder) / "raised.json").write_text(json.dumps(child))
    cases = ask("strength", folder + "/raised.json", "--level", stack["strength"]["level"], "--samples", "0")["cases"]
    governing = [c["elastic_factor"] for c in cases if c["governs"]][0]
    same = abs(governing / stack["strength"]["elastic_factor"] - 1) < 1e-8
    count += 1
    failed += not same
    print("%sok %d - first yield of a stack: %.6f, of the raised limb: %.6f" % (
        "" if same else "not ", count, stack["strength"]["elastic_factor"], governing))
    # Each pair of parts: factor and inertia are those of the commands run on the document with that pair in it.
    adult = json.loads((root / "data/examples/adult.json").read_text())
    feet = {f["name"]: f["foot"] for f in shop["feet"]}
    adapters = {a["name"]: a["adapter"] for a in shop["adapters"]}
    for side in ("left", "right"):
        adult["person"]["side"] = side
        (pathlib.Path(folder) / "limb.json").write_text(json.dumps(adult))
        pairs = [p for p in ask("parts", folder + "/limb.json", "--order", "factor")["pairs"] if p["foot"] in feet and p["adapter"] in adapters]
        off = []
        for pair in (pairs[0], pairs[len(pairs) // 2], pairs[-1]):
            changed = copy.deepcopy(adult)
            changed["foot"], changed["adapter"] = feet[pair["foot"]], adapters[pair["adapter"]]
            changed["pylon"]["cut_height_mm"] = pair["cut_height_mm"]
            (pathlib.Path(folder) / "pair.json").write_text(json.dumps(changed))
            cases = ask("strength", folder + "/pair.json", "--level", pair["level"], "--samples", "0")["cases"]
            factor = [c["elastic_factor"] for c in cases if c["governs"]][0]
            mass = ask("mass", folder + "/pair.json")["limb"]
            cut = ask("length", folder + "/pair.json")["cut_height_mm"]
            off += [abs(factor / pair["elastic_factor"] - 1), abs(mass["inertia_about_knee_kgm2"] / pair["inertia_about_knee_kgm2"] - 1),
                    abs(cut / pair["cut_height_mm"] - 1)]
        count += 1
        failed += max(off) > 1e-8
        print("%sok %d - three pairs under a %s limb agree with strength, mass and length within %.1e" % (
            "" if max(off) <= 1e-8 else "not ", count, side, max(off)))
print("1..%d" % count)
sys.exit(failed > 0)
