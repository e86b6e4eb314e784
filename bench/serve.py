#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The server on a store of many invented limbs: list, search and open at 8 connections (99th percentile, goal 20 ms),
throughput at 32, and its memory over many requests. SQLite first, PostgreSQL beside it where Debian's is installed.

Usage: serve.py PROGRAM FILL_STORE [LIMBS [SECONDS]]     wrk does the asking
Exit 1 when a goal was missed.
"""
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "tests/api"))
from api_cluster import Cluster

PROGRAM, FILL = sys.argv[1:3]
LIMBS = int(sys.argv[3]) if len(sys.argv) > 3 else 100000
SECONDS = int(sys.argv[4]) if len(sys.argv) > 4 else 8
ROOT = pathlib.Path(__file__).resolve().parents[1]
GOAL_MS, GROWTH_KB = 20.0, 8192

# What one tablet asks: every request another page, word or limb.
WAYS = {
    "list": 'path = "/api/limbs?count=50&order=" .. ({"newest", "due", "changed"})[math.random(3)]',
    "search": 'path = "/api/limbs?count=50&search=" .. ({"invented%%20" .. math.random(%d), "L-10" .. math.random(7), "left%%20stand"})[math.random(3)]' % LIMBS,
    "open": 'path = "/api/limbs/" .. math.random(%d)' % LIMBS,
}


def script(folder, way, token):
    path = os.path.join(folder, way + ".lua")
    with open(path, "w") as out:
        out.write('math.randomseed(7)\nrequest = function()\n  local path\n  %s\n  return wrk.format("GET", path, '
                  '{["Cookie"] = "standfast=%s"})\nend\n' % (WAYS[way].replace("%%", "%"), token))
    return path


def milliseconds(text):
    value, unit = re.match(r"([\d.]+)(us|ms|s)", text).groups()
    return float(value) * {"us": 1e-3, "ms": 1, "s": 1e3}[unit]


def ask(port, lua, connections, seconds):
    done = subprocess.run(["wrk", "-t2", "-c%d" % connections, "-d%ds" % seconds, "--latency", "-s", lua,
                           "http://127.0.0.1:%d" % port], capture_output=True, text=True)
    out = done.stdout
    bad = re.search(r"Non-2xx or 3xx responses: (\d+)", out)
    found = {p: milliseconds(v) for p, v in re.findall(r"^\s+(50|90|99)%\s+(\S+)$", out, re.M)}
    rate = re.search(r"Requests/sec:\s+([\d.]+)", out)
    count = re.search(r"(\d+) requests in", out)
    if not found or not rate:
        raise SystemExit("wrk said: " + out + done.stderr)
    return found, float(rate.group(1)), int(count.group(1)), int(bad.group(1)) if bad else 0


def memory_kb(process):
    return int(re.search(r"VmRSS:\s+(\d+)", pathlib.Path("/proc/%d/status" % process.pid).read_text()).group(1))


def measure(name, place, files, folder):
    missed = 0
    token = subprocess.run([FILL, place, files, str(LIMBS), str(ROOT / "data/examples/adult.json")], check=True,
                           capture_output=True, text=True).stdout.strip()
    options = [] if files == "-" else ["--files", files]
    server = subprocess.Popen([PROGRAM, "serve", "--store", place, "--port", "0", *options], stdout=subprocess.PIPE,
                              stderr=subprocess.DEVNULL, text=True)
    try:
        port = int(re.search(r":(\d+)/", server.stdout.readline()).group(1))
        asked = 0
        for way in WAYS:
            lua = script(folder, way, token)
            ask(port, lua, 8, 1)
            at8, rate8, count8, bad8 = ask(port, lua, 8, SECONDS)
            at32, rate32, count32, bad32 = ask(port, lua, 32, SECONDS)
            asked += count8 + count32
            good = at8["99"] <= GOAL_MS and bad8 + bad32 == 0
            missed += not good
            print("%-10s %-7s %6d limbs: 8 connections 50 %% %.2f ms, 99 %% %.2f ms (goal %g)%s, %.0f/s; 32 connections 99 %% "
                  "%.2f ms, %.0f/s%s" % (name, way, LIMBS, at8["50"], at8["99"], GOAL_MS, "" if good else " MISSED", rate8,
                                        at32["99"], rate32, "; %d refused" % (bad8 + bad32) if bad8 + bad32 else ""))
        before, more = memory_kb(server), 0
        lua = script(folder, "open", token)
        while more < 100000:
            more += ask(port, lua, 8, SECONDS)[2]
        after = memory_kb(server)
        good = after - before <= GROWTH_KB
        missed += not good
        print("%-10s memory  %d kB, and %d kB after %d more requests (goal: at most %d kB more)%s" % (
            name, before, after, more, GROWTH_KB, "" if good else " MISSED"))
    finally:
        server.terminate()
        server.wait(30)
    return missed


random.seed(7)
with tempfile.TemporaryDirectory(prefix="standfast-serve-") as work:
    failed = measure("SQLite", os.path.join(work, "shop.sqlite"), "-", work)
    cluster = Cluster(work)
    address = cluster.start()
    if address:
        try:
            failed += measure("PostgreSQL", address, os.path.join(work, "files"), work)
        finally:
            cluster.stop()
    else:
        print("PostgreSQL is not installed: not measured")
sys.exit(1 if failed else 0)
