#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
# The strip of a walk, measured: contacts and steps are read back from the SVG and held against the table that went in and
# the result that came out. Walks are invented. Usage: test_step_pictures.py STANDFAST
import json
import os
import random
import subprocess
import sys
import tempfile

import svg_lines

STANDFAST = sys.argv[1]
HAIR = 0.02  # mm of paper
cases = []


def case(run):
    cases.append(run)
    return run


def standfast(*words):
    return subprocess.run([STANDFAST, *map(str, words)], capture_output=True, text=True)


def near(value, wanted, within=HAIR):
    return abs(value - wanted) <= within


def walk(seed, steps, missed=(), doubled=(), slow=(), start=0.0):
    """Times and sides of a limping walk; truth known."""
    rng, t, rows = random.Random(seed), start, []
    for i in range(steps):
        t += (0.56 if i % 2 == 0 else 0.63) + rng.gauss(0, 0.01) + (0.3 if i in slow else 0)
        if i not in missed:
            rows.append((t, "LR"[i % 2]))
        if i in doubled:
            rows.append((t + 0.05, "LR"[i % 2]))
    return rows


def drawn(folder, passes, *words):
    table, out = os.path.join(folder, "walk.csv"), os.path.join(folder, "walk.svg")
    with open(table, "w") as file:
        print("time_s,side,pass,support", file=file)
        for number, (support, rows) in enumerate(passes):
            for t, side in rows:
                print(f"{t:.4f},{side},{number},{support}", file=file)
    run = standfast("steps", table, *words, "--picture", out, "--json")
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout), *svg_lines.read(out)


def contacts(lines):
    """Upright ticks of three millimetres: left upward, right downward; in order."""
    found = [line for line in lines if line.width == 0.25 and line.colour == svg_lines.INK and len(line.spots) == 2
             and near(line.start[0], line.end[0], 1e-6) and near(abs(line.start[1] - line.end[1]), 3)]
    return [(line.start[0], "L" if line.end[1] < line.start[1] else "R") for line in found]


def circles(lines):
    return [line.centre for line in lines if line.round and line.colour == svg_lines.INK and near(line.radius, 0.75, 0.003)]


def diamonds(lines):
    found = [line for line in lines if line.closed and len(line.spots) == 4 and line.colour == svg_lines.MARK and not line.round]
    return [(line.spots[0][0], line.spots[1][1]) for line in found][:-1]  # the last is the legend's


@case
def contacts_stand_in_time_and_on_their_side(folder):
    passes = [("bars", walk(1, 30)), ("bars", walk(2, 24, start=40, missed=(9,), doubled=(15,)))]
    _, _, _, lines = drawn(folder, passes)
    ticks, at = contacts(lines), 0
    assert len(ticks) == sum(len(rows) for _, rows in passes)
    per_s = None
    for _, rows in passes:
        first = ticks[at][0]
        for (t, side), (x, way) in zip(rows, ticks[at : at + len(rows)]):
            assert side == way
            if per_s is None and t > rows[0][0]:
                per_s = (x - first) / (t - rows[0][0])
            elif per_s:
                assert near(x - first, per_s * (t - rows[0][0]), 0.05), (t, x)
        at += len(rows)
    assert per_s * sum(rows[-1][0] - rows[0][0] for _, rows in passes) > 150, "the paper is used"


@case
def steps_stand_at_their_length_and_odd_ones_are_marked(folder):
    rows = walk(3, 40, slow=(13, 28))
    result, _, words, lines = drawn(folder, [("free", rows)])
    left = circles(lines)[:-1]  # the last is the legend's
    # The first and the last step of the pass do not count.
    lengths = [rows[i][0] - rows[i - 1][0] for i in range(2, len(rows) - 1) if rows[i][1] == "L"]
    assert len(left) == len(lengths), (len(left), len(lengths))
    a, b = lengths.index(max(lengths)), lengths.index(min(lengths))
    per_s = (left[b][1] - left[a][1]) / (lengths[a] - lengths[b])
    for (x, y), length in zip(left, lengths):
        assert near(y, left[a][1] + per_s * (lengths[a] - length), 0.05), (length, y)
    odd = diamonds(lines)
    assert len(odd) == len(result["odd_steps"]) == 2
    ticks = contacts(lines)
    for (x, y), step in zip(odd, sorted(result["odd_steps"], key=lambda step: step["index"])):
        assert near(x, ticks[step["index"]][0]) and near(y, left[a][1] + per_s * (lengths[a] - step["value_s"]), 0.05)
        assert f"contact {step['index']}" in words


@case
def odd_steps_of_both_sides_and_of_a_long_walk_are_marked(folder):
    for steps, slow in ((60, (20, 41)), (3000, (700, 1401, 2100))):
        result, _, _, lines = drawn(folder, [("free", walk(4, steps, slow=slow))])
        assert len(diamonds(lines)) == len(result["odd_steps"]) >= len(slow), (steps, len(diamonds(lines)))
        assert (len(contacts(lines)) > 0) == (steps == 60), "a long walk is drawn as its range"


@case
def every_kind_of_support_has_its_figures(folder):
    passes = [("bars", walk(5, 60)), ("stick", walk(6, 50, start=60)), ("free", walk(7, 80, start=120))]
    result, title, words, _ = drawn(folder, passes, "--prosthetic", "R")
    for row in result["by_support"]:
        line = [text for text in words.split("\n") if text.startswith("support " + row["support"])]
        assert len(line) == 1, words
        assert f"steps {row['steps']};" in line[0] and f"left, s {row['step_time_s']['left']:.3f};" in line[0]
        assert f"ratio {row['symmetry']['ratio']:.3f};" in line[0] and f"missed {row['missed_steps']};" in line[0]
    assert "prosthetic over sound" in words and result["safety"] in words


@case
def what_does_not_exist_is_a_dash_and_never_a_nought(folder):
    result, _, words, _ = drawn(folder, [("bars", walk(8, 14))], "--taps")
    assert result["cv_percent"]["left"] is None and "left cv, % \u2013;" in words
    assert "cannot resolve" in words


@case
def a_walk_that_cannot_be_read_leaves_no_picture(folder):
    table, out = os.path.join(folder, "bad.csv"), os.path.join(folder, "bad.png")
    with open(table, "w") as file:
        print("time_s,side\n1,L\n0.5,R", file=file)
    run = standfast("steps", table, "--picture", out)
    assert run.returncode == 3 and "line" in run.stderr and not os.path.exists(out)
    assert standfast("steps", table, "--picture", os.path.join(folder, "bad.bmp")).returncode == 2


def main():
    print(f"1..{len(cases)}")
    failed = 0
    for number, run in enumerate(cases, 1):
        name = run.__name__.replace("_", " ")
        with tempfile.TemporaryDirectory() as folder:
            try:
                run(folder)
                print(f"ok {number} - {name}")
            except (AssertionError, KeyError, IndexError, ValueError) as problem:
                failed += 1
                print(f"# {problem!r}\nnot ok {number} - {name}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
