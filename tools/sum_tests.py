#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Counts the TAP cases in Meson's test logs: one line a suite with its time, what failing tests said, and at the end
"N passed, N failed". A program that dies, runs too long, runs no case or fewer than it planned counts as failed.

Usage: sum_tests.py [LABEL=]testlog.json...
"""
import json
import os
import re
import sys

CASE = re.compile(r"(not )?ok\b(?P<rest>.*)")
PLAN = re.compile(r"1\.\.(\d+)")


class Tally:
    """What the cases of one program, one suite or all of them came to."""

    def __init__(self):
        self.passed = self.failed = self.skipped = 0
        self.seconds = 0.0

    def add(self, other):
        self.passed += other.passed
        self.failed += other.failed
        self.skipped += other.skipped
        self.seconds += other.seconds


def judge(run):
    """The tally of one test program and the lines that explain its failures."""
    tally, told, comments, planned, seen = Tally(), [], [], None, 0
    tally.seconds = run.get("duration") or 0.0
    for line in (run.get("stdout") or "").splitlines():
        plan, case = PLAN.fullmatch(line.strip()), CASE.match(line)
        if line.startswith("#"):
            comments.append(line)
        elif line.startswith("Bail out!"):
            told.append(line)
        elif plan:
            planned = int(plan.group(1))
        elif case:
            seen += 1
            directive = re.search(r"#\s*(skip|todo)", case.group("rest"), re.I)
            if directive:
                tally.skipped += 1
            elif case.group(1):
                tally.failed += 1
                told += comments + [line]
            else:
                tally.passed += 1
            comments = []
    if planned is None or seen != planned:
        lost = max(1, (planned or 0) - seen)
        tally.failed += lost
        told += comments + ["# planned %s cases, ran %d: %d counted as failed" % (planned, seen, lost)]
    if run.get("result") not in ("OK", "SKIP") and not tally.failed:
        tally.failed += 1
        told += comments + ["# ended as %s with exit code %s" % (run.get("result"), run.get("returncode"))]
    if tally.failed:
        told += ["| " + line for line in (run.get("stderr") or "").splitlines()[-60:]]
    return tally, told


def read(argument):
    """The runs of one log (one JSON object a line), each with its suite."""
    label, _, path = argument.rpartition("=")
    if not os.path.exists(path):
        return
    with open(path, encoding="utf-8") as log:
        for line in log:
            run = json.loads(line)
            suites, _, name = run["name"].rpartition(" / ")  # "standfast:geom+slow / polygon"
            suite = suites.rpartition(":")[2].partition("+")[0] or "none"
            yield (label + " " if label else "") + suite, name, run


def main(arguments):
    suites, total, stories = {}, Tally(), []
    for argument in arguments:
        runs = list(read(argument))
        if not runs:
            stories.append(("%s: no test ran" % argument, []))
            total.failed += 1
        for suite, name, run in runs:
            tally, told = judge(run)
            suites.setdefault(suite, Tally()).add(tally)
            total.add(tally)
            if tally.failed:
                stories.append(("%s, %s:" % (suite, name), told))
    for title, told in stories:
        print("-- " + title)
        for line in told:
            print("   " + line)
    for name, tally in suites.items():
        skipped = ", %d skipped" % tally.skipped if tally.skipped else ""
        print("   %-28s %7.2f s  %4d passed, %d failed%s" % (name, tally.seconds, tally.passed, tally.failed, skipped))
    print("%d passed, %d failed" % (total.passed, total.failed))
    return 0 if total.passed and not total.failed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
