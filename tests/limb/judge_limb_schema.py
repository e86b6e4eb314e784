#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds docs/limb.schema.json and the C reader together, both ways.

The judge on the schema's side is python3-jsonschema, which knows nothing of this program. Every field is mutated:
taken out, nulled, given other kinds, pushed just over and just under its limits; then two mutations at a time, with a
fixed seed. The reader must refuse what the schema refuses and take what it takes, but for sizes that contradict one
another, which no schema can say. The two lists of fields, limits and words are compared as well.

usage: judge_limb_schema.py JUDGE SCHEMA EXAMPLE...
"""
import copy
import json
import random
import subprocess
import sys

import jsonschema

DOUBLES = 1500


def plain(kind):
    kinds = kind if isinstance(kind, list) else [kind]
    return [k for k in kinds if k != "null"][0]


def shape_of(schema):
    """What the reader should call this schema, with its limits and words."""
    if "const" in schema:
        return "const", 0.0, 0.0, 0, [schema["const"]]
    if "enum" in schema:
        return "word", 0.0, 0.0, 0, [w for w in schema["enum"] if w is not None]
    kind = plain(schema["type"])
    if kind in ("number", "integer"):
        return "number" if kind == "number" else "whole", float(schema["minimum"]), float(schema["maximum"]), 0, []
    if kind == "boolean":
        return "flag", 0.0, 0.0, 0, []
    if kind == "string":
        if schema.get("format") == "date":
            return "date", 0.0, 0.0, 0, []
        return "text", float(schema.get("minLength", 0)), float(schema["maxLength"]), 0, []
    if kind == "array" and schema["items"]["type"] == "number":
        return "pair", float(schema["items"]["minimum"]), float(schema["items"]["maximum"]), 0, []
    if kind == "array":
        return "list", 0.0, 0.0, schema["maxItems"], []
    return "object", 0.0, 0.0, 0, []


def fields(schema, path=""):
    """Every field of the schema: path -> (kind, required, low, high, most, words)."""
    found = {}
    for key, sub in schema["properties"].items():
        here = path + ("." if path else "") + key
        kind, low, high, most, words = shape_of(sub)
        found[here] = (kind, key in schema.get("required", []), low, high, most, words)
        if kind == "object":
            found.update(fields(sub, here))
        elif kind == "list":
            found.update(fields(sub["items"], here + "[]"))
    return found


def sample(schema):
    """A value of good shape with every field in it."""
    kind, low, high, _, words = shape_of(schema)
    if kind in ("const", "word"):
        return words[0]
    if kind == "number":
        return (low + high) / 2
    if kind == "whole":
        return int(low) + 1
    if kind == "flag":
        return True
    if kind == "text":
        return "invented"
    if kind == "date":
        return "2026-02-28"
    if kind == "pair":
        return [low, high]
    if kind == "list":
        return [sample(schema["items"])]
    return {k: sample(v) for k, v in schema["properties"].items()}


def places(schema, value, where=()):
    """Every place in a document: (where, schema)."""
    for key, sub in schema["properties"].items():
        if not isinstance(value, dict) or key not in value:
            continue
        here = where + (key,)
        yield here, sub
        kind = shape_of(sub)[0]
        if kind == "object":
            yield from places(sub, value[key], here)
        elif kind == "list" and isinstance(value[key], list):
            for i, item in enumerate(value[key]):
                yield here + (i,), sub["items"]
                yield from places(sub["items"], item, here + (i,))


GONE, EXTRA = object(), object()


def mutations(schema):
    """Values to put in place of a good one."""
    kind, low, high, most, words = shape_of(schema)
    out = [GONE, None, True, 0, -1, 3, 2.5, 1e300, -1e300, "", "x", "2026-02-30", "\u0000", [], [1], [1, 2], [None, 1],
           ["a", 1], [1, 2, 3], {}, {"x": 1}, [None], [{}], [[]]]
    if kind in ("number", "whole"):
        step = max(abs(low), abs(high), 1.0) * 1e-9
        out += [low, high, low - step, high + step, low + step, high - step, low - 1, high + 1, str(low)]
    if kind == "pair":
        out += [[low, high], [low - 1, high], [low, high + 1], [low, None], [low], [low, high, low], [low, str(high)]]
    if kind in ("text", "date"):
        n = int(high)
        out += ["x" * n, "x" * (n + 1), "\u00e9" * n, "\u00e9" * (n + 1), "\U0001f9b5" * n, "2024-02-29", "1899-12-31",
                "2100-02-29", "2199-12-31", "2200-01-01", "2026-1-1", "2026-13-01", "2026-00-10", "2026-04-31",
                "20260101", "2026-01-01 ", "2026-01-01\n", "a\u0000b"]
    if kind in ("word", "const"):
        out += words + [words[0] + " ", words[0].upper(), words[-1][:-1]]
    if kind == "object":
        out += [EXTRA]
    return out


def mutate(document, where, value):
    out = copy.deepcopy(document)
    spot = out
    for step in where[:-1]:
        spot = spot[step]
    if value is GONE:
        del spot[where[-1]]
    elif value is EXTRA:
        spot[where[-1]]["no_such_field"] = 1
    else:
        spot[where[-1]] = value
    return out


def list_too_long(document, schema):
    for where, sub in places(schema, document):
        kind, _, _, most, _ = shape_of(sub)
        if kind == "list":
            spot = document
            for step in where:
                spot = spot[step]
            if spot:
                yield mutate(document, where, (spot * (most + 1))[:most])
                yield mutate(document, where, (spot * (most + 1))[:most + 1])


def ring_forms(document):
    """Every way of saying, or failing to say, how a ring is known."""
    values = {"image": "a.png", "outline": "a.csv", "outline_csv": "curve,x_mm,y_mm\nouter,1,1\n", "caliper": "b.csv",
              "outer_diameter_mm": 50, "inner_diameter_mm": 38}
    ways = list(values)
    for mask in range(1 << len(ways)):
        for nulls in (False, True):
            ring = {"height_mm": 110}
            for i, way in enumerate(ways):
                if mask >> i & 1:
                    ring[way] = values[way]
                elif nulls:
                    ring[way] = None
            out = copy.deepcopy(document)
            out["pylon"]["rings"] = [ring]
            yield out


def main():
    judge, schema_file, *examples = sys.argv[1:]
    schema = json.load(open(schema_file))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker(["date"]))
    results = []

    wanted = fields(schema)
    known = {}
    for line in subprocess.run([judge, "--fields"], capture_output=True, text=True, check=True).stdout.splitlines():
        path, kind, required, low, high, most, words = line.split("\t")
        known[path] = (kind, required == "1", float(low), float(high), int(most), words.split("|") if words else [])
    differing = sorted(p for p in wanted.keys() | known.keys() if wanted.get(p) != known.get(p))
    results.append((not differing, "the %d fields of schema and reader are the same: kind, need, limits, words" % len(known),
                    ["%s: schema %s, reader %s" % (p, wanted.get(p), known.get(p)) for p in differing]))

    documents = [json.load(open(name)) for name in examples]
    full = sample(schema)
    full["pylon"]["rings"] = [{k: v for k, v in sample(schema["properties"]["pylon"]["properties"]["rings"]["items"]).items()
                               if k not in ("image", "outline", "outline_csv", "caliper")}]
    cases = [documents[0], full]
    singles = [(d, where, value) for d in cases for where, sub in places(schema, d) for value in mutations(sub)]
    cases = documents + cases + [mutate(d, where, value) for d, where, value in singles]
    for document in documents + [full]:
        cases += list(list_too_long(document, schema)) + [dict(document, no_such_field=1)]
    cases += list(ring_forms(documents[0])) + [[], 1, "x", None, {}]
    chance = random.Random(20260101)
    for _ in range(DOUBLES):
        document, where, value = chance.choice(singles)
        once = mutate(document, where, value)
        second, sub = chance.choice(list(places(schema, once)) or [(("format",), schema["properties"]["format"])])
        try:
            cases.append(mutate(once, second, chance.choice(mutations(sub))))
        except (KeyError, TypeError, IndexError):
            cases.append(once)

    answers = subprocess.run([judge], input="\n".join(json.dumps(c) for c in cases) + "\n", capture_output=True, text=True,
                             check=True).stdout.split()
    wrong, counts = [], {"good": 0, "shape": 0, "sizes": 0}
    for case, answer in zip(cases, answers, strict=True):
        # A zero character is refused by the JSON parser itself; the schema's pattern refuses it too.
        answer = "shape" if answer == "parse" else answer
        counts[answer] = counts.get(answer, 0) + 1
        if validator.is_valid(case) != (answer in ("good", "sizes")):
            wrong.append("reader says %s, schema says %s: %s" %
                         (answer, [e.message[:100] for e in validator.iter_errors(case)][:2], json.dumps(case)[:300]))
    results.append((not wrong, "%d documents judged alike (%s)" % (len(cases), counts), wrong[:10]))
    results.append((counts["good"] > 100 and counts["shape"] > 1000, "both verdicts occur often enough to mean something", []))
    results.append((all(a == "good" for a in answers[:len(documents)]), "all %d examples are good" % len(documents),
                    answers[:len(documents)]))

    print("1..%d" % len(results))
    for i, (good, what, notes) in enumerate(results, 1):
        print("%s %d - %s" % ("ok" if good else "not ok", i, what))
        for note in notes if not good else []:
            print("# " + note)
    return 0 if all(r[0] for r in results) else 1


if __name__ == "__main__":
    sys.exit(main())
