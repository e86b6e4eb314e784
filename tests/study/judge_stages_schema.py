#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds data/stages.json, the reader and the state of a limb against docs/stages.schema.json, judged by python3-jsonschema.

usage: judge_stages_schema.py STAGES_JUDGE DOCS DATA
"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

judge, docs, data = sys.argv[1:]
schema = json.loads((pathlib.Path(docs) / "stages.schema.json").read_text())
table = json.loads((pathlib.Path(data) / "stages.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
whole = jsonschema.Draft202012Validator(schema)
state = jsonschema.Draft202012Validator({"$ref": "#/$defs/state", "$defs": schema["$defs"]})
results = []


def tell(good, what, notes=()):
    results.append((bool(good), what, list(notes)))


def reader_takes(value):
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        json.dump(value, file)
        file.flush()
        return subprocess.run([judge, file.name], capture_output=True, timeout=30).returncode == 0


tell(not list(whole.iter_errors(table)), "the table fits its schema", [e.message[:200] for e in whole.iter_errors(table)])
tell(reader_takes(table), "the reader takes the table")
names = [s["stage"] for s in table["stages"]]
tell(names == ["plan", "model", "set-up", "form", "ring", "cut", "foot", "standing", "trials", "settle", "fasten",
               "check-out", "release", "follow-up", "shop"], "the stages in the order of the work", names)

# What the reader must refuse, whatever part of the table it stands in.
damages = {
    "a need that names no kind of fact": lambda t: t["stages"][0]["needs"][-1].__setitem__("fact", "guess"),
    "a need that names a later stage": lambda t: t["stages"][2]["needs"][0].__setitem__("stage", "release"),
    "a need without its moment": lambda t: t["stages"][1]["needs"][0].pop("for"),
    "a gate that does not exist": lambda t: t["loading_needs"][1].__setitem__("gate", "luck"),
    "a stage closed by nothing": lambda t: t["stages"][4].__setitem__("closed_by", ""),
    "a field without words": lambda t: t["facts"][0]["fields"][0].pop("words"),
    "a field of no type": lambda t: t["facts"][0]["fields"][0].__setitem__("type", "feeling"),
    "a reset of no stage": lambda t: t["facts"][5].__setitem__("resets", ["nowhere"]),
    "a missing judgement": lambda t: t["judgements"].pop("pain_stops"),
    "another format": lambda t: t.__setitem__("format", "standfast-stages/2"),
}
for what, damage in damages.items():
    broken = copy.deepcopy(table)
    damage(broken)
    tell(not reader_takes(broken), "the reader refuses " + what)

run = subprocess.run([judge], capture_output=True, timeout=60)
states = [json.loads(text) for text in run.stdout.decode().split("\0") if text.strip()]
bad = [e.message[:200] for s in states for e in state.iter_errors(s)]
tell(run.returncode == 0 and len(states) == 26 and not bad, "26 states fit their schema", bad[:5])
tell(all(s["out_of_use"] and not s["may_go_home"] and not s["may_walk"] for s in states[1::2]), "a crack shuts each of them")

print("1..%d" % len(results))
for number, (good, what, notes) in enumerate(results, 1):
    for note in [] if good else notes:
        print("# " + str(note))
    print("%s %d - %s" % ("ok" if good else "not ok", number, what))
