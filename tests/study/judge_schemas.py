#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the schemas of trials, align, advise and steps against the C reader and the program's real output.

The judge on the schemas' side is python3-jsonschema, which knows nothing of this program. Trials documents are mutated
field by field and in pairs, with a fixed seed: the reader must take what the schema takes and refuse what it refuses.
Results of the commands on several inputs must fit their schemas, which allow no key that is not named.

usage: judge_schemas.py TRIALS_JUDGE PROGRAM DOCS DATA
"""
import copy
import json
import pathlib
import random
import subprocess
import sys
import tempfile

import jsonschema

judge, program, docs, data = sys.argv[1:]
docs, data = pathlib.Path(docs), pathlib.Path(data)
results = []


def load(name):
    schema = json.loads((docs / (name + ".schema.json")).read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    return schema


def inlined(node, whole):
    """The schema with every reference into another one put in its place."""
    if isinstance(node, dict):
        if "$ref" in node:
            file, pointer = node["$ref"].split("#")
            spot = json.loads((docs / file).read_text())
            for step in pointer.strip("/").split("/"):
                spot = spot[step]
            return inlined(spot, whole)
        return {k: inlined(v, whole) for k, v in node.items()}
    if isinstance(node, list):
        return [inlined(v, whole) for v in node]
    return node


def tell(good, what, notes=()):
    results.append((bool(good), what, list(notes)))


# ---- trials ----

GONE = object()
VALUES = [GONE, None, True, False, 0, 1, 3, 4, 2.5, -1, 10, 10.5, 41, 200.5, 1e9, "", "x", "clear", "bars", "free", "broken",
          "stays", "left", "drop-off", "lateral-thrust", "terminal-stance", "toe_out_deg", "suspension", [], [1], [{}], [None],
          {}, {"x": 1}, {"sign": "drop-off"}, [{"sign": "drop-off"}], [{"sign": "drop-off", "strength": 4}], "\u0000"]


def places(value, where=()):
    yield where
    if isinstance(value, dict):
        for key in value:
            yield from places(value[key], where + (key,))
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from places(item, where + (i,))


def mutate(document, where, value):
    out = copy.deepcopy(document)
    if not where:
        return value if value is not GONE else {}
    spot = out
    for step in where[:-1]:
        spot = spot[step]
    if value is GONE:
        del spot[where[-1]]
    else:
        spot[where[-1]] = value
    return out


schema = inlined(load("trials"), None)
validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker(["date"]))
example = json.loads((data / "trials" / "two-walks.json").read_text())
full = copy.deepcopy(example)
full["excluded"], full["permanent_fixing_done"], full["long_worn_misalignment"] = ["suspension"], False, True
full["trials"][0].update(settings_after={"toe_out_deg": 5.5}, holding_torque_nm=3.0, insensate=False, date="2026-01-01", by="A",
                         note="n", steps_file="a.csv")
full["trials"][0]["observations"][0]["side"] = "prosthetic"
singles = [(where, value) for where in places(full) for value in VALUES]
cases = [example, full] + [mutate(full, *one) for one in singles]
extra = [where for where in places(full)]
for where in extra:
    spot = full
    for step in where:
        spot = spot[step]
    if isinstance(spot, dict):
        cases.append(mutate(full, where, dict(spot, no_such_field=1)))
chance = random.Random(7)
for _ in range(1500):
    once = mutate(full, *chance.choice(singles))
    try:
        cases.append(mutate(once, chance.choice(list(places(once))), chance.choice(VALUES)))
    except (KeyError, TypeError, IndexError):
        cases.append(once)
for insensate in (GONE, None, True, False, 1):
    for pain in (GONE, None, 3, -1, "x"):
        cases.append(mutate(mutate(full, ("trials", 0, "insensate"), insensate), ("trials", 0, "pain"), pain))
many = copy.deepcopy(example)
for count in (200, 201):
    many["trials"] = [example["trials"][0]] * count
    cases.append(copy.deepcopy(many))
for count in (24, 25):
    cases.append(mutate(example, ("trials", 0, "observations"), [{"sign": "drop-off"}] * count))

answers = subprocess.run([judge], input="\n".join(json.dumps(c) for c in cases) + "\n", capture_output=True, text=True,
                         check=True).stdout.split()
wrong, good = [], 0
for case, answer in zip(cases, answers, strict=True):
    valid = validator.is_valid(case)
    good += valid
    if valid != (answer == "good"):
        wrong.append("reader %s, schema %s: %s" % (answer, [e.message[:120] for e in validator.iter_errors(case)][:2],
                                                   json.dumps(case)[:200]))
tell(not wrong, "%d trials documents judged alike, %d of them good" % (len(cases), good), wrong[:10])
tell(good > 100 and len(cases) - good > 500, "both verdicts occur often enough to mean something")

# ---- results ----


def run(*arguments):
    done = subprocess.run([program, *map(str, arguments), "--json"], capture_output=True, text=True)
    return json.loads(done.stdout) if done.returncode == 0 else {"failed": done.stderr}


def fits(name, result, what):
    errors = list(jsonschema.Draft202012Validator(load(name)).iter_errors(result))
    tell(not errors, what, ["%s: %s" % ("/".join(map(str, e.absolute_path)), e.message[:200]) for e in errors][:5])


limbs = sorted(p for p in (data / "examples").glob("*.json") if "standfast-limb/1" in p.read_text())
done = 0
for limb in limbs:
    result = run("align", limb, "--toe-out-deg", "4", "--foot-outset-mm", "-5")
    if "failed" not in result:
        fits("align", result, "align of %s fits its schema" % limb.name)
        done += 1
for limb in limbs:
    fits("limb-result", run("limb", limb), "limb, %s, fits its schema" % limb.name)
tell(done >= 2, "align ran on %d of %d example limbs" % (done, len(limbs)))

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)

    def advise(document, what):
        (folder / "t.json").write_text(json.dumps(document))
        fits("advise", run("advise", folder / "t.json"), "advise, %s, fits its schema" % what)

    advise(example, "the example")
    advise(full, "every field")
    hurt = mutate(example, ("trials", 1, "skin"), "broken")
    advise(hurt, "broken skin")
    advise(mutate(example, ("trials", 1, "observations"), [{"sign": "pistoning"}]), "suspension first")
    turn = mutate(example, ("adapter", "motions"), [{"setting": "toe_out_deg", "range": [-20, 20]}])
    advise(mutate(turn, ("trials", 1, "observations", 0, "strength"), 3), "an adapter that only turns")
    advise(mutate(example, ("trials", 1, "observations"),
                  [{"sign": "drop-off"}, {"sign": "hyperextension"}, {"sign": "lateral-thrust"}, {"sign": "lateral-edge-loaded"}]),
           "conflicts")
    fits("advise", run("advise", "--signs"), "advise --signs fits its schema")

    def steps(text, what, *options):
        (folder / "w.csv").write_text(text)
        fits("steps", run("steps", folder / "w.csv", *options), "steps, %s, fits its schema" % what)

    rows = ["%.3f,%s" % (0.6 * i + 0.01 * (i * 7 % 5), "LR"[i % 2]) for i in range(80)]
    steps("time_s,side\n" + "\n".join(rows), "footfalls")
    steps("time_s,side\n" + "\n".join(rows), "taps", "--taps", "--prosthetic", "R")
    steps("time_s,side\n" + "\n".join(rows[:3] + rows[4:40] + rows[60:]), "gaps and a pause")
    steps("time_s,side,support\n" + "\n".join(r + (",bars" if i < 40 else ",free") for i, r in enumerate(rows)), "two supports")
    steps("time_s,side\n0,L\n1,R\n", "one step")
    signal = ["%.2f,0,0,%.3f" % (i / 100, 9.8 + (4 if i % 60 < 8 else 0)) for i in range(3000)]
    steps("time_s,ax,ay,az\n" + "\n".join(signal), "acceleration without a first side")
    steps("time_s,ax,ay,az\n" + "\n".join(signal), "acceleration", "--first-side", "L")
    steps("time_s,ax,ay,az\n" + "\n".join(signal), "shank", "--sensor", "shank", "--first-side", "R")

print("1..%d" % len(results))
for i, (good, what, notes) in enumerate(results, 1):
    print("%s %d - %s" % ("ok" if good else "not ok", i, what))
    for note in notes if not good else []:
        print("# " + note)
sys.exit(0 if all(r[0] for r in results) else 1)
