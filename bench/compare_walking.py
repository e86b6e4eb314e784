#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The simulated fitting room over 1 to 15 trials, advice beside its rivals and the adapter that can only turn; and the time
that a million footfalls take beside a plain script that finds the same medians.

Usage: compare_walking.py PROGRAM FITTING_ROOM FOLDER ROUNDS
"""
import json
import os
import pathlib
import random
import statistics
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
FOOTFALLS, GOAL_S = 1_000_000, 1.0
AGREE_S = 2e-4  # medians of times written to a tenth of a millisecond


def tell(good, what, value, wanted):
    print("  %-46s %8.3f   wanted %5.2f   %s" % (what, value, wanted, "reached" if good else "MISSED"))
    return good


def room(program):
    env = dict(os.environ, ROOM_RUNS=os.environ.get("ROOM_RUNS", "2000"), TAP_ROOT=str(ROOT))
    run = subprocess.run([program], capture_output=True, text=True, env=env)
    notes = [line[2:] for line in run.stdout.splitlines() if line.startswith("# ")]
    print("\nsimulated fitting room, share in the zone after each of 15 trials")
    curves = {}
    for note in notes:
        words = note.split()
        shares = [word for word in words if word.replace(".", "", 1).isdigit() and "." in word]
        if len(shares) >= 15:
            curves[note[:28].strip()] = [float(word) for word in shares[-15:]]
        print("  " + note)
    good = run.returncode == 0 and "advice" in curves and "lacking motion named" in curves
    if not good:
        print(run.stdout[-2000:])
        return False
    good &= tell(curves["advice"][4] >= 0.90, "share in the zone after 5 trials, advice", curves["advice"][4], 0.90)
    good &= tell(curves["advice"][7] >= 0.97, "share in the zone after 8 trials, advice", curves["advice"][7], 0.97)
    named = curves["lacking motion named"][2]
    return good & tell(named >= 0.90, "lacking motion named within 3 trials", named, 0.90)


def write_walk(path):
    rng, t = random.Random(1), 0.0
    with open(path, "w") as file:
        print("time_s,side", file=file)
        for i in range(FOOTFALLS):
            t += (0.56 if i % 2 == 0 else 0.61) + rng.gauss(0, 0.012)
            print(f"{t:.4f},{'LR'[i % 2]}", file=file)


def timed(command):
    """Seconds on the clock, seconds of processor, and the result: other work on the machine lengthens the first only."""
    used, began = os.times(), time.perf_counter()
    out = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    took, now = time.perf_counter() - began, os.times()
    return took, now.children_user + now.children_system - used.children_user - used.children_system, json.loads(out)


def footfalls(program, folder, rounds):
    path = pathlib.Path(folder) / "million.csv"
    if not path.exists():
        write_walk(path)
    clock, ours, theirs = [], [], []
    for turn in range(rounds + 1):
        took, used, result = timed([program, "steps", str(path), "--json"])
        if turn > 0:  # the first turn fills the caches
            clock.append(took)
            ours.append(used)
    for _ in range(2):
        _, used, plain = timed(["/usr/bin/python3", str(ROOT / "bench/peers/steps_plain.py"), str(path)])
        theirs.append(used)
    mine, other = statistics.median(ours), min(theirs)
    print("\n%d footfalls, %d runs (whole processes)" % (FOOTFALLS, rounds))
    print("  standfast  median %7.3f s of processor, %7.3f s on the clock (least %.3f)" % (mine, statistics.median(clock), min(clock)))
    print("  plain      least  %7.3f s of processor, %.1f x ours" % (other, other / mine))
    found = result["step_time_s"]
    agree = all(abs(found[side] - plain[side]) <= AGREE_S for side in ("left", "right"))
    print("  medians %.4f and %.4f s, plain %.4f and %.4f: %s"
          % (found["left"], found["right"], plain["left"], plain["right"], "the same" if agree else "NOT THE SAME"))
    return tell(mine < GOAL_S, "s of processor at most, a million footfalls", mine, GOAL_S) and agree


def main(program, fitting_room, folder, rounds):
    good = footfalls(program, folder, min(rounds, 9))
    good &= room(fitting_room)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], sys.argv[3], int(sys.argv[4])))
