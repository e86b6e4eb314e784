#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The harness itself: every planted case must come out as it should, and what must not compile does not.

Usage: test_harness.py PLANTED COMPILER
"""
import os
import pathlib
import re
import subprocess
import sys

GOOD = {"good", "good with failing allocations"}
ROOT = pathlib.Path(__file__).resolve().parents[2]
# Checks that must not compile: an expected value needs its origin, a tolerance its name, a source its text.
REFUSED = {
    "a number without its origin": "TAP_NEAR(1.0, 1.0, TAP_EXACT);",
    "a bare number for a tolerance": "TAP_NEAR(1.0, 1.0, 1e-9, TAP_CLOSED_FORM);",
    "a text for an origin": 'TAP_NEAR(1.0, 1.0, TAP_EXACT, "handbook");',
    "a source that is no text": "TAP_NEAR(1.0, 1.0, TAP_EXACT, TAP_SOURCE(7));",
}
ACCEPTED = 'TAP_NEAR(1.0, 1.0, TAP_EXACT, TAP_SOURCE("ISO 2768-1, table 1"));'


def compiles(compiler, check):
    text = '#include "harness/tap.h"\nvoid f(void);\nvoid f(void)\n{\n    %s\n}\n' % check
    command = [compiler, "-std=c17", "-fsyntax-only", "-Werror=implicit-function-declaration", "-I", ROOT / "src",
               "-I", ROOT / "tests", "-x", "c", "-"]
    return subprocess.run(command, input=text, text=True, capture_output=True).returncode == 0


def main(planted, compiler):
    run = subprocess.run([planted], capture_output=True, text=True, env=dict(os.environ, ASAN_OPTIONS="detect_leaks=0"))
    results = {name: not bad for bad, name in re.findall(r"^(not )?ok \d+ - (.*)$", run.stdout, re.M)}
    checks = [("%s is told as %s" % (name, "good" if name in GOOD else "bad"), good == (name in GOOD))
              for name, good in results.items()]
    checks.append(("every planted case ran", run.stdout.startswith("1..%d\n" % len(results)) and GOOD < set(results)))
    checks.append(("the program ends with 1 when a case failed", run.returncode == 1))
    one = subprocess.run([planted, "good_with"], capture_output=True, text=True)
    checks.append(("a part of a name chooses a case", one.stdout.startswith("1..1\n") and one.returncode == 0))
    checks.append(("a check with its origin compiles", compiles(compiler, ACCEPTED)))
    checks += [(what + " does not compile", not compiles(compiler, check)) for what, check in REFUSED.items()]
    print("1..%d" % len(checks))
    for number, (what, good) in enumerate(checks, 1):
        print("%sok %d - %s" % ("" if good else "not ", number, what))
    return 0 if all(good for _, good in checks) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2]))
