#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The cards that come with the program have the shape of docs/material.schema.json, and the program's reader draws the line
where the schema does: every field taken out, given another kind, or pushed beyond its limits (judged by python3-jsonschema).

usage: judge_card_schema.py PROGRAM SCHEMA LIMB CARD...
"""
import copy
import json
import os
import subprocess
import sys
import tempfile

import jsonschema


def places(schema, value, where=()):
    for key, sub in schema.get("properties", {}).items():
        if key in value:
            yield where + (key,), sub
            if sub.get("type") == "object":
                yield from places(sub, value[key], where + (key,))


def changed(card, where, value):
    out = copy.deepcopy(card)
    spot = out
    for step in where[:-1]:
        spot = spot[step]
    if value is None:
        del spot[where[-1]]
    else:
        spot[where[-1]] = value
    return out


def main():
    program, schema_file, limb, *cards = sys.argv[1:]
    schema = json.load(open(schema_file, encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)
    documents = [json.load(open(name, encoding="utf-8")) for name in cards]
    bad = ["%s: %s" % (n, e.message) for n, d in zip(cards, documents) for e in validator.iter_errors(d)]
    wrong, count = [], 0
    with tempfile.TemporaryDirectory() as folder:
        name = os.path.join(folder, "card.json")
        for where, sub in places(schema, documents[0]):
            values = [None, "x", 7, [], {}, True]
            if sub.get("type") == "number":
                values = [None, "x", sub["minimum"] - 1, sub["maximum"] + 1]
            for value in values:
                card = changed(documents[0], where, value)
                json.dump(card, open(name, "w", encoding="utf-8"))
                run = subprocess.run([program, "strength", limb, "--material", name, "--level", "P3", "--samples", "0", "--json"],
                                     capture_output=True, text=True)
                count += 1
                # Sizes that contradict one another are the reader's own word; the schema cannot say it.
                good = run.returncode == 0
                if good and not validator.is_valid(card) or not good and validator.is_valid(card) and "must " not in run.stderr:
                    wrong.append("%s = %r: reader %d, schema %s: %s" % (where, value, run.returncode, validator.is_valid(card),
                                                                       run.stderr[:200]))
    print("1..2")
    print("%s 1 - %d cards have the promised shape" % ("not ok" if bad else "ok", len(cards)))
    print("%s 2 - reader and schema agree on %d changed cards" % ("not ok" if wrong else "ok", count))
    for line in (bad + wrong)[:10]:
        print("# " + line)
    return 1 if bad or wrong else 0


if __name__ == "__main__":
    sys.exit(main())
