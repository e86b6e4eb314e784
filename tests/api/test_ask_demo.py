#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Seeds the invented shop at the command line, proves the store, serves it, and asks it as ./demo does.

usage: test_ask_demo.py PROGRAM
"""
import json
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile

program = sys.argv[1]
root = pathlib.Path(os.environ.get("TAP_ROOT", pathlib.Path(__file__).parents[2]))
results = []


def tell(good, what, note=""):
    results.append((bool(good), what, note))


def run(*words):
    return subprocess.run([program, *words], capture_output=True, text=True, timeout=300)


with tempfile.TemporaryDirectory() as folder:
    store = os.path.join(folder, "shop.sqlite")
    seeded = run("demo", "--store", store, "--json")
    said = json.loads(seeded.stdout) if seeded.returncode == 0 else {}
    tell(said.get("limbs", 0) >= 40 and "invented" in said.get("note", ""), "an invented shop is seeded", seeded.stderr)
    again = run("demo", "--store", store)
    tell(again.returncode == 3 and "store of its own" in again.stderr, "a store with people is left alone", again.stderr)
    proved = run("store", "verify", "--store", store)
    tell(proved.returncode == 0, "its chain is whole", proved.stdout + proved.stderr)
    server = subprocess.Popen([program, "serve", "--demo", "--store", store, "--port", "0"], stdout=subprocess.PIPE, text=True)
    try:
        address = re.search(r"http://\S+", server.stdout.readline()).group()
        asked = subprocess.run([sys.executable, root / "tools/ask_demo", address], capture_output=True, text=True, timeout=120)
        tell(asked.returncode == 0, "the served shop answers", asked.stdout + asked.stderr)
    finally:
        server.send_signal(signal.SIGINT)
        code = server.wait(timeout=60)
    tell(code == 0, "and stops when interrupted", str(code))

print("1..%d" % len(results))
for number, (good, what, note) in enumerate(results, 1):
    if not good:
        print("\n".join("# " + line for line in note.splitlines()[:20]))
    print("%s %d - %s" % ("ok" if good else "not ok", number, what))
