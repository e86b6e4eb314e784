#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Step times of a clean walk by the plain route: rows split at commas, differences between unlike feet, medians. It knows
no gaps, double contacts, passes or odd steps; on a walk without them it must find the medians that `standfast steps` finds.

Usage: steps_plain.py FOOTFALLS.csv     prints both medians as JSON
"""
import json
import statistics
import sys


def main(path):
    steps, before = {"L": [], "R": []}, None
    with open(path) as file:
        next(file)
        for line in file:
            time, side = line.rstrip("\n").split(",")
            here = (float(time), side)
            if before and before[1] != side:
                steps[side].append(here[0] - before[0])
            before = here
    print(json.dumps({"left": statistics.median(steps["L"]), "right": statistics.median(steps["R"])}))


main(sys.argv[1])
