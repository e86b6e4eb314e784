#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the strength command prints is of the shape that docs/strength.schema.json promises, judged by python3-jsonschema: all
examples, plain, with options, and side by side; and the schema is tight: taking any key out, or adding one, is refused.

usage: judge_strength_schema.py PROGRAM SCHEMA EXAMPLE...
"""
import copy
import json
import subprocess
import sys

import jsonschema


def places(value, where=()):
    if isinstance(value, dict):
        for key, sub in value.items():
            yield where + (key,)
            yield from places(sub, where + (key,))
    elif isinstance(value, list) and value:
        yield from places(value[0], where + (0,))


def without(document, where):
    out = copy.deepcopy(document)
    spot = out
    for step in where[:-1]:
        spot = spot[step]
    del spot[where[-1]]
    return out


def main():
    program, schema_file, *examples = sys.argv[1:]
    schema = json.load(open(schema_file, encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    runs = [[name] for name in examples] + [[examples[0], o] for o in ("--iso-axis", "--first-order", "--prismatic")]
    runs = [run + ["--samples", "200"] for run in runs]
    runs += [[examples[0], "--samples", "0"], [examples[0], "--level", "P4"], [examples[0], "--temperature-c", "37"], ["--compare", *examples]]
    bad, loose, first = [], [], None
    for run in runs:
        text = subprocess.run([program, "strength", "--json", *run], capture_output=True, text=True, check=True).stdout
        document = json.loads(text)
        first = first or document
        bad += ["%s: %s at %s" % (run, e.message[:200], list(e.path)) for e in validator.iter_errors(document)]
    for where in places(first):
        if validator.is_valid(without(first, where)):
            loose.append("%s may be left out" % (where,))
    if validator.is_valid(dict(first, more=1)):
        loose.append("a key may be added")
    print("1..2")
    print("%s 1 - %d results have the promised shape" % ("not ok" if bad else "ok", len(runs)))
    for problem in bad[:10]:
        print("# " + problem)
    print("%s 2 - no key of %d may be missing" % ("not ok" if loose else "ok", len(list(places(first)))))
    for problem in loose[:10]:
        print("# " + problem)
    return 1 if bad or loose else 0


if __name__ == "__main__":
    sys.exit(main())
