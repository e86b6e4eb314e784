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
GOAL_MS = 30.0       # one study without bands, the start of the program taken off: the server starts once
GOAL_BAND_MS = 500.0 # with 10,000 draws
GOAL_RATIO = 30.0    # of the peers together, which do less, over a study without bands


def took(command):
    began = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - began


def main(program, rounds):
    limb = str(ROOT / "tests/data/limbs/two-rings.json")
    data = [limb, str(ROOT / "data/load_levels.json"), str(ROOT / "data/materials/pp-copolymer.json")]
    peer = ["/usr/bin/python3", str(ROOT / "bench/peers/strength_scipy.py")]
    ours, banded, theirs, sums = [], [], [], []
    outline = str(ROOT / "tests/data/limbs/ring-left.csv")
    fibres = ["/usr/bin/python3", str(ROOT / "bench/peers/collapse_scipy.py"), outline, *data[1:]]
    for turn in range(rounds + 1):
        a, b = took([program, "strength", limb, "--samples", "0", "--json"]), took(peer + data)
        c = took([program, "strength", limb, "--json"])
        if turn > 0:  # the first turn fills the caches
            ours.append(a)
            theirs.append(b)
            banded.append(c)
            if turn <= 3:
                sums.append(took(fibres))
    empty = statistics.median(took([program, "--version"]) for _ in range(rounds))
    mine, other = statistics.median(ours), statistics.median(theirs)
    print("\nstrength of one limb, %d runs each in turn (whole processes)" % rounds)
    print("  standfast  median %7.1f ms  least %7.1f ms  (an empty run of the program: %.1f ms)"
          % (mine * 1e3, min(ours) * 1e3, empty * 1e3))
    print("  scipy      median %7.1f ms  least %7.1f ms  %5.1f x ours" % (other * 1e3, min(theirs) * 1e3, other / mine))
    full, sum_of = statistics.median(banded), statistics.median(sums)
    ratio = (other + sum_of) / mine
    print("  with 10,000 draws    %7.1f ms  least %7.1f ms" % (full * 1e3, min(banded) * 1e3))
    print("  fibre sum in scipy   %7.1f ms: collapse of six lines in first order, one section, no second order, no bands"
          % (sum_of * 1e3))
    agree = subprocess.run(peer[:2] + ["--check", program] + data, capture_output=True, text=True)
    print("  " + agree.stdout.strip().replace("\n", "\n  "))
    study = mine - empty
    good = study * 1e3 <= GOAL_MS and agree.returncode == 0
    print("  %-46s %8.2f   wanted %5.1f   %s" % ("ms at most, one study without the start", study * 1e3, GOAL_MS,
                                                  "reached" if good else "MISSED"))
    fast = full * 1e3 <= GOAL_BAND_MS and ratio >= GOAL_RATIO
    print("  %-46s %8.2f   wanted %5.1f   %s" % ("ms at most, with a 10,000-draw band", full * 1e3, GOAL_BAND_MS,
                                                  "reached" if full * 1e3 <= GOAL_BAND_MS else "MISSED"))
    print("  %-46s %8.1f   wanted %5.1f   %s" % ("times the speed of both scipy programs together", ratio, GOAL_RATIO,
                                                  "reached" if ratio >= GOAL_RATIO else "MISSED"))
    return 0 if good and fast else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], int(sys.argv[2])))
