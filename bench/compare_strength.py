#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares whole processes: `standfast strength` against bench/peers/strength_scipy.py on the same limb, in turn, and checks
that both find the same. Ours also does temperatures, fatigue, walking, clamp zone and gates in that time; the peer does not.

Usage: compare_strength.py PROGRAM ROUNDS
"""
import pathlib
import statistics
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
GOAL_MS = 30.0  # one study without bands


def took(command):
    began = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - began


def main(program, rounds):
    limb = str(ROOT / "tests/data/limbs/two-rings.json")
    data = [limb, str(ROOT / "data/load_levels.json"), str(ROOT / "data/materials/pp-copolymer.json")]
    peer = ["/usr/bin/python3", str(ROOT / "bench/peers/strength_scipy.py")]
    ours, theirs = [], []
    for turn in range(rounds + 1):
        a, b = took([program, "strength", limb, "--json"]), took(peer + data)
        if turn > 0:  # the first turn fills the caches
            ours.append(a)
            theirs.append(b)
    empty = statistics.median(took([program, "--version"]) for _ in range(rounds))
    mine, other = statistics.median(ours), statistics.median(theirs)
    print("\nstrength of one limb, %d runs each in turn (whole processes)" % rounds)
    print("  standfast  median %7.1f ms  least %7.1f ms  (an empty run of the program: %.1f ms)"
          % (mine * 1e3, min(ours) * 1e3, empty * 1e3))
    print("  scipy      median %7.1f ms  least %7.1f ms  %5.1f x ours" % (other * 1e3, min(theirs) * 1e3, other / mine))
    agree = subprocess.run(peer[:2] + ["--check", program] + data, capture_output=True, text=True)
    print("  " + agree.stdout.strip().replace("\n", "\n  "))
    good = mine * 1e3 <= GOAL_MS and agree.returncode == 0
    print("  %-46s %8.2f   wanted %5.1f   %s" % ("ms at most, strength of one limb", mine * 1e3, GOAL_MS,
                                                  "reached" if good else "MISSED"))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], int(sys.argv[2])))
