#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`growth --picture` and `fasten --picture` from outside: whole files or none, words that match the JSON result, the
same bytes for the same limb. Usage: test_plan_pictures.py STANDFAST ROOT. TAP on stdout."""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree

STANDFAST, EXAMPLES = sys.argv[1], pathlib.Path(sys.argv[2]) / "data" / "examples"
SVG = "{http://www.w3.org/2000/svg}"
cases = []


def case(run):
    cases.append(run)
    return run


def ask(*words):
    return subprocess.run([STANDFAST, *map(str, words)], capture_output=True, text=True, timeout=120)


@case
def the_growth_chart_says_what_the_result_says(folder):
    out = os.path.join(folder, "g.svg")
    run = ask("growth", EXAMPLES / "child.json", "--as-of", "2026-07-04", "--picture", out, "--json")
    assert run.returncode == 0, run.stderr
    result, root = json.loads(run.stdout), tree.parse(out).getroot()
    assert root.get("width") == "210mm" and root.get("height") == "148mm"
    words = root.find(SVG + "desc").text
    for step in result["due"].values():
        assert "Short by %.0f mm: %s" % (step["limit_mm"], step["date"]) in words
    for stack in result["stacks"]:
        line = [l for l in words.splitlines() if l.startswith("%s, %s: " % (stack["for"], stack["date"])) and " = %.1f mm, %+.1f mm" % (stack["total_mm"], stack["error_mm"]) in l]
        assert line, stack
        assert ("LONG, to be signed" in line[0]) == stack["long"] and ("LONGER BOLT" in line[0]) == bool(stack["bolt"]["swap"])
    assert "First to end is the " + result["first_limit"] in words
    for warning in result["warnings"]:
        assert warning["text"][:200] in words
    before = pathlib.Path(out).read_bytes()
    ask("growth", EXAMPLES / "child.json", "--as-of", "2026-07-04", "--picture", out)
    assert pathlib.Path(out).read_bytes() == before


@case
def little_known_children_have_a_chart_and_grown_people_none(folder):
    limb = {"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 30, "sex": "female", "birth_date": "2017-02-03"}}
    person = limb["person"]
    path, out = os.path.join(folder, "a.json"), os.path.join(folder, "a.png")
    for more in ({}, {"stature_history": [{"date": "2025-12-01", "stature_mm": 1300}]},
                 {"prosthesis_set_date": "2025-06-01", "levelling_block_history": [{"date": "2025-06-01", "block_mm": 0}, {"date": "2026-01-10", "block_mm": 3}]}):
        person.update(more)
        pathlib.Path(path).write_text(json.dumps(limb))
        for months in ("1", "24", "120"):
            if os.path.exists(out):
                os.unlink(out)
            run = ask("growth", path, "--as-of", "2026-01-10", "--months", months, "--picture", out, "--units", "inch")
            assert run.returncode == 0 and pathlib.Path(out).read_bytes()[:4] == b"\x89PNG", (more, months, run.stderr)
    none = os.path.join(folder, "none.svg")
    run = ask("growth", EXAMPLES / "adult.json", "--picture", none)
    assert run.returncode == 3 and "years old" in run.stderr and not run.stdout and not os.path.exists(none), run.stderr
    run = ask("growth", EXAMPLES / "child.json", "--picture", os.path.join(folder, "g.jpg"))
    assert run.returncode == 2 and ".svg" in run.stderr


@case
def the_screw_map_says_what_the_result_says(folder):
    out = os.path.join(folder, "f.svg")
    for side in ("left", "right"):
        limb = json.loads((EXAMPLES / "early-wrong-holes.json").read_text())
        limb["person"]["side"] = side
        path = os.path.join(folder, "f.json")
        pathlib.Path(path).write_text(json.dumps(limb))
        run = ask("fasten", path, "--picture", out, "--json")
        assert run.returncode == 0, run.stderr
        result, words = json.loads(run.stdout), tree.parse(out).getroot().find(SVG + "desc").text
        for hole in result["holes"]:
            assert "at %.1f degrees, %.1f mm above the cut, %.1f mm to the seam" % (hole["angle_deg"], hole["height_mm"] - 110, hole["seam"]["value"]) in words
        for rescue in result["rescues"]:
            assert rescue["text"][:280] in words
        # a vent above the new grip is no reason to saw higher, and a distance of just the limit is no warning
        recut = [r for r in result["rescues"] if r["rescue"] == "recut"][0]
        assert abs(recut["margin"] - (290 - (122 + 3 + 2) - 30)) < 1e-6, recut
        assert not [w for w in result["warnings"] if "12.0 mm from the cut edge" in w["text"]], result["warnings"]
    bare = os.path.join(folder, "bare.json")
    pathlib.Path(bare).write_text(json.dumps({"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 70}, "pylon": {"cut_height_mm": 110},
                                              "adapter": {"depth_mm": 30, "rim_mm": 50}}))
    assert ask("fasten", bare, "--picture", out).returncode == 0


failed = 0
print("1..%d" % len(cases))
for number, run in enumerate(cases, 1):
    with tempfile.TemporaryDirectory() as place:
        try:
            run(place)
            print("ok %d - %s" % (number, run.__name__))
        except Exception as problem:  # a failed assertion or a program that is not there
            failed += 1
            print("not ok %d - %s" % (number, run.__name__))
            print("# %s: %s" % (type(problem).__name__, str(problem).replace("\n", " ")[:600]))
sys.exit(failed > 0)
