#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares whole processes: `standfast ring` against the plain pipeline of bench/peers, on the same pictures, in turn.
Speed and memory on the first picture of each set, accuracy over all of them.

Usage: compare.py PROGRAM PICTURES ROUNDS      PICTURES holds the folders bench (70 x 70 mm at 600 dpi) and a4
"""
import json
import math
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

PEER = pathlib.Path(__file__).resolve().parent / "peers/ring_opencv.py"
MOMENTS = ("ix_mm4", "iy_mm4")
# What the program has to reach: times as fast on the small ring and on the page, times as accurate, MB on the page.
# With torsion and the drawn picture (which the plain pipeline has not) it may take up to twice the plain pipeline's time.
GOALS = {"bench": 5.0, "a4": 1.0, "accuracy": 5.0, "memory_mb": 400.0, "picture": 0.5}


def run(command):
    """(seconds, seconds of processor, peak memory in MB, its JSON object) of one process."""
    with tempfile.TemporaryFile() as out:
        began = time.perf_counter()
        process = subprocess.Popen(command, stdout=out)
        _, status, usage = os.wait4(process.pid, 0)
        took = time.perf_counter() - began
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode != 0:
            sys.exit("compare: %s ended with %d" % (" ".join(map(str, command)), process.returncode))
        out.seek(0)
        return took, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, json.loads(out.read())


def commands(program, picture, dpi, drawn=None):
    """The rivals, ours first; with `drawn`, ours once more with the picture of the finding written there."""
    own = {"standfast": [program, "ring", picture, "--json"]}
    if drawn:
        own["standfast, picture"] = own["standfast"] + ["--picture", drawn]
    return {
        **own,
        "opencv, contours": ["/usr/bin/python3", PEER, picture, str(dpi)],
        "opencv, pixels": ["/usr/bin/python3", PEER, picture, str(dpi), "--pixels"],
    }


def pictures(folder):
    """Every picture of a folder with its truth."""
    found = []
    for truth in sorted(pathlib.Path(folder).glob("*.truth.json")):
        name = truth.name[: -len(".truth.json")]
        picture = next(p for p in sorted(truth.parent.glob(name + ".*")) if p != truth)
        found.append((str(picture), json.loads(truth.read_text(encoding="utf-8"))))
    if not found:
        sys.exit("compare: %s holds no picture with its truth" % folder)
    return found


def speed(program, folder, rounds):
    """Median, least seconds and peak memory of each rival, taking turns so that a busy moment hits all alike."""
    picture, truth = pictures(folder)[0]
    scratch = tempfile.TemporaryDirectory()
    rivals = commands(program, picture, truth["dpi"], os.path.join(scratch.name, "sheet.png"))
    seen = {name: [] for name in rivals}
    for turn in range(rounds + 1):
        for name, command in rivals.items():
            took, busy, memory, _ = run(command)
            if turn > 0:  # the first turn fills the caches
                seen[name].append((took, busy, memory))
    print("\n%s, %d runs each in turn" % (os.path.relpath(picture), rounds))
    result = {}
    for name, values in seen.items():
        median, busy = (statistics.median(column) for column in list(zip(*values))[:2])
        least, memory = min(value[0] for value in values), max(value[2] for value in values)
        result[name] = (median, memory)
        ours = result["standfast"][0]
        print("  %-18s median %7.1f ms  least %7.1f ms  processor %7.1f ms  peak %6.1f MB   %5.2f x ours"
              % (name, median * 1e3, least * 1e3, busy * 1e3, memory, median / ours))
    return result


def accuracy(program, folder):
    """Root mean square and largest relative error of area and second moments of each rival over all pictures."""
    errors = {}
    found = pictures(folder)
    for picture, truth in found:
        for name, command in commands(program, picture, truth["dpi"]).items():
            got = run(command)[3]
            kept = errors.setdefault(name, {"area": [], "second moments": []})
            kept["area"].append(got["area_mm2"] / truth["area_mm2"] - 1)
            kept["second moments"] += [got[key] / truth[key] - 1 for key in MOMENTS]
    print("\nerrors against the known truth, %d pictures of %s" % (len(found), os.path.relpath(folder)))
    result = {}
    for name, kinds in errors.items():
        result[name] = {kind: math.sqrt(statistics.fmean(e * e for e in values)) for kind, values in kinds.items()}
        print("  %-18s %s" % (name, "   ".join(
            "%s rms %.4f %%, worst %.4f %%" % (kind, 100 * result[name][kind], 100 * max(map(abs, values)))
            for kind, values in kinds.items())))
    return result


def main(program, folder, rounds):
    program, folder = os.path.abspath(program), pathlib.Path(folder)
    plain, missed = "opencv, contours", 0
    print(subprocess.run([program, "--version"], capture_output=True, text=True, check=True).stdout.strip())
    small, page = speed(program, folder / "bench", rounds), speed(program, folder / "a4", max(3, rounds // 3))
    errors = {name: accuracy(program, folder / name) for name in ("bench", "a4")}
    print("\ngoals, against the plain pipeline (contours)")
    goals = [("times as fast, small ring", small[plain][0] / small["standfast"][0], GOALS["bench"]),
             ("times as fast, A4 page", page[plain][0] / page["standfast"][0], GOALS["a4"]),
             ("times as fast with the picture drawn, small ring", small[plain][0] / small["standfast, picture"][0],
              GOALS["picture"]),
             ("MB at most on the A4 page", page["standfast"][1], GOALS["memory_mb"])]
    for kind in ("area", "second moments"):
        for name in errors:
            goals.append(("times as accurate, %s, %s" % (kind, name),
                          errors[name][plain][kind] / max(errors[name]["standfast"][kind], 1e-12), GOALS["accuracy"]))
    for what, value, goal in goals:
        good = value <= goal if what.startswith("MB") else value >= goal
        missed += not good
        print("  %-48s %8.2f   wanted %5.1f   %s" % (what, value, goal, "reached" if good else "MISSED"))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], int(sys.argv[3])))
