#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Measures the store with 100,000 invented limbs, SQLite first and PostgreSQL (a server of its own) beside it.

Usage: measure_store.py STORE_LOAD [LIMBS [SECONDS]]    FOLDER in the environment: where to work (the system's default)
Exit 1 when lists, searches and opening one on SQLite at 8 at once miss the goal.
"""
import glob
import os
import pwd
import re
import subprocess
import sys
import tempfile

GOAL_P99_MS = 20.0
HELD = {"list", "due", "search, many", "search, few", "recall", "open"}


def run(command, **more):
    return subprocess.run(command, check=True, **more)


class Server:
    """A PostgreSQL cluster in a folder of its own; it refuses to run as root."""

    def __init__(self, folder):
        self.folder = os.path.join(folder, "cluster")
        self.bin = os.path.dirname(sorted(glob.glob("/usr/lib/postgresql/*/bin/pg_ctl"))[-1])
        self.us = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        os.mkdir(self.folder)
        if self.us:
            user = pwd.getpwnam("postgres")
            os.chown(self.folder, user.pw_uid, user.pw_gid)
        quiet = dict(stdout=subprocess.DEVNULL, cwd="/")
        run(self.us + [self.bin + "/initdb", "-D", self.folder, "-U", "standfast", "-A", "trust", "-E", "UTF8",
                       "--locale=C.UTF-8"], **quiet)
        run(self.us + [self.bin + "/pg_ctl", "-D", self.folder, "-w", "-l", self.folder + "/log", "-o",
                       "-k %s -c listen_addresses='' -c dynamic_shared_memory_type=mmap" % self.folder, "start"], **quiet)
        self.address = "postgres://standfast@/postgres?host=" + self.folder

    def stop(self):
        subprocess.run(self.us + [self.bin + "/pg_ctl", "-D", self.folder, "-m", "fast", "stop"], cwd="/",
                       stdout=subprocess.DEVNULL)


def measure(program, place, files, limbs, seconds):
    done = subprocess.run([program, place, files, limbs, seconds], capture_output=True, text=True)
    print("  " + done.stdout.strip().replace("\n", "\n  ") + done.stderr, flush=True)
    if done.returncode != 0:
        raise SystemExit("store_load failed")
    found = re.findall(r"^ *(\d+) at once +(.+?) +p50 +[\d.]+ ms +p99 +([\d.]+) ms", done.stdout, re.M)
    return {name: float(p99) for threads, name, p99 in found if threads == "8"}


def main(program, limbs="100000", seconds="3"):
    with tempfile.TemporaryDirectory(dir=os.environ.get("FOLDER")) as folder:
        os.chmod(folder, 0o711)
        print("\nthe store with %s invented limbs, each question for %s s" % (limbs, seconds))
        p99 = measure(program, folder + "/s.sqlite", folder + "/s.files", limbs, seconds)
        server = Server(folder)
        try:
            measure(program, server.address, folder + "/p.files", limbs, seconds)
        finally:
            server.stop()
    worst = max(p99[name] for name in HELD)
    good = worst <= GOAL_P99_MS
    print("  %-46s %8.2f   wanted %5.1f   %s" % ("ms at most, p99 at 8 at once, SQLite", worst, GOAL_P99_MS,
                                                "reached" if good else "MISSED"))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
