#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs a measuring command over a folder of ring pictures and holds its figures against the truth beside them.

    tools/score_rings.py FOLDER [--command "build/standfast ring {} --json"] [--jobs 2] [--only TEXT] [--csv OUT.csv]

Prints, per key and class of resolution, the errors against the targets; how often the truth lay inside the stated
95 % edge uncertainty; how wide that uncertainty is against the error really made; the worst pictures by name.
A developer's tool: plain Python 3, nothing to install.
"""
import argparse
import concurrent.futures
import json
import math
import os
import shlex
import statistics
import subprocess
import sys
import time

# Targets by class of resolution: relative for the section, mm for lengths (targets of the measuring work).
CLASSES = [(">=400", 390, {"area": 0.001, "second": 0.0015, "wall": 0.02, "groove": 0.04}),
           ("300", 250, {"area": 0.002, "second": 0.003, "wall": 0.03, "groove": 0.06}),
           ("150-200", 0, {"area": 0.004, "second": 0.006, "wall": 0.08, "groove": 0.10})]
SEAM_DEG, SEAM_GROOVE_MM, LINE_MM = 1.0, 0.3, 0.2

# key: (kind of error, target name or None)
KEYS = {
    "area_mm2": ("relative", "area"),
    "ix_mm4": ("relative", "second"), "iy_mm4": ("relative", "second"),
    "ixy_mm4": ("of-mean-i", "second"),
    "i_max_mm4": ("relative", "second"), "i_min_mm4": ("relative", "second"),
    "wall_min_mm": ("absolute", "wall"), "wall_median_mm": ("absolute", "wall"), "wall_max_mm": ("absolute", "wall"),
    "wall_min_off_seam_mm": ("absolute", "wall"), "wall_at_seam_mm": ("absolute", "wall"),
    "groove_depth_mm": ("absolute", "groove"),
    "seam_direction_deg": ("angle", "seam"),
    "seam_unjoined_depth_mm": ("absolute", "line"),
    "void_area_mm2": ("absolute", None),
    "outer_diameter_mean_mm": ("absolute", None), "inner_diameter_mean_mm": ("absolute", None),
    "ovality_percent": ("absolute", None),
    "inscribed_diameter_mm": ("absolute", None), "circumscribed_diameter_mm": ("absolute", None),
    "centroid_mm.0": ("absolute", None), "centroid_mm.1": ("absolute", None),
    "principal_deg": ("axis", None),
    "torsion_constant_mm4": ("relative", None),
}


def look(record, key):
    for part in key.split("."):
        if isinstance(record, list):
            record = record[int(part)] if int(part) < len(record) else None
        else:
            record = record.get(part) if isinstance(record, dict) else None
    return record if isinstance(record, (int, float)) and not isinstance(record, bool) else None


def class_of(dpi):
    return next(c for c in CLASSES if dpi >= c[1])


def target_of(name, limits, truth):
    if name == "seam":
        return SEAM_DEG if (truth.get("groove_depth_mm") or 0) > SEAM_GROOVE_MM else None
    if name == "line":
        return LINE_MM
    return limits.get(name) if name else None


def error_of(kind, got, true, truth):
    if kind == "relative":
        return (got - true) / true
    if kind == "of-mean-i":
        return (got - true) / (0.5 * (truth["ix_mm4"] + truth["iy_mm4"]))
    turn = {"angle": 360.0, "axis": 180.0}.get(kind)
    return math.remainder(got - true, turn) if turn else got - true


def scale_of(kind, true, truth):
    """What a half width in the key's own unit is divided by, to be of the same kind as its error."""
    if kind == "relative":
        return abs(true)
    return 0.5 * (truth["ix_mm4"] + truth["iy_mm4"]) if kind == "of-mean-i" else 1.0


def pictures(folder, only):
    for name in sorted(os.listdir(folder)):
        if name.endswith(".truth.json") and only in name:
            stem = name[:-len(".truth.json")]
            for ending in ("png", "jpg", "jpeg", "tif", "tiff"):
                path = os.path.join(folder, stem + "." + ending)
                if os.path.exists(path):
                    with open(os.path.join(folder, name), encoding="utf-8") as f:
                        yield path, json.load(f)


def refusals(folder, only):
    for name in sorted(os.listdir(folder)):
        if name.endswith(".refuse.json") and only in name:
            stem = name[:-len(".refuse.json")]
            for picture in sorted(os.listdir(folder)):
                if picture.rsplit(".", 1)[0] == stem:
                    with open(os.path.join(folder, name), encoding="utf-8") as f:
                        yield os.path.join(folder, picture), json.load(f)


def check_refusals(command, tasks):
    """Each must end with exit 3, one sentence on stderr and nothing on stdout; prints the sentences to be read."""
    wrong = 0
    print("\nto be refused:")
    for path, expected in tasks:
        words = [w.replace("{}", path) for w in shlex.split(command)]
        try:
            run = subprocess.run(words, capture_output=True, text=True, timeout=120, check=False)
        except subprocess.TimeoutExpired:
            wrong += 1
            print("  WRONG %-22s no answer in 120 s" % os.path.basename(path))
            continue
        good = run.returncode == expected["exit"] and not run.stdout and len(run.stderr.strip().splitlines()) == 1
        wrong += not good
        print("  %s %-22s %-22s exit %d: %s" % ("  ok " if good else "WRONG", os.path.basename(path), expected["refuse"],
                                              run.returncode, run.stderr.strip() or run.stdout[:80].strip()))
    return wrong


def measure(command, path, truth):
    words = [w.replace("{}", path) for w in shlex.split(command)]
    if truth.get("file_states_dpi") is False:
        words += ["--dpi", "%.6f" % truth["dpi"]]
    start = time.time()
    try:
        run = subprocess.run(words, capture_output=True, text=True, timeout=300, check=False)
    except subprocess.TimeoutExpired:
        return None, "no answer in 300 s", 300.0
    spent = time.time() - start
    if run.returncode != 0:
        return None, "exit %d: %s" % (run.returncode, run.stderr.strip()[:200]), spent
    try:
        return json.loads(run.stdout), None, spent
    except ValueError as error:
        return None, "no JSON: %s" % error, spent


def judge(path, truth, result):
    """One row per key: name, class, key, error, target, stated edge half width (same kind as error)."""
    rows = []
    label, _, limits = class_of(truth["dpi"])
    for key, (kind, target_name) in KEYS.items():
        got, true = look(result, key), look(truth, key)
        if true is None and got is None:
            continue
        if true is None or got is None:
            if key in ("seam_direction_deg", "wall_at_seam_mm"):  # found or not found is a result of its own
                rows.append((path, label, key, None, None, None))
            continue
        if kind == "relative" and true == 0:
            continue
        error = error_of(kind, got, true, truth)
        half = look(result.get("uncertainty") or {}, key + ".edge")
        if key.startswith("centroid_mm."):
            half = look(result.get("uncertainty") or {}, "centroid_mm.edge")
        if half is not None:
            half /= scale_of(kind, true, truth)
        rows.append((path, label, key, error, target_of(target_name, limits, truth), half))
    return rows


def rms(values):
    return math.sqrt(sum(v * v for v in values) / len(values)) if values else float("nan")


def shown(kind, value):
    if value is None or value != value:
        return "-"
    return "%.4f %%" % (100 * value) if kind in ("relative", "of-mean-i") else "%.4f" % value


def table(rows):
    print("\n%-24s %-8s %4s %11s %11s %11s %9s %8s %7s %9s %s" % (
        "key", "class", "n", "mean", "rms", "worst", "target", "missed", "inside", "u95/rms", "worst picture"))
    missed_all = 0
    for key, (kind, _) in KEYS.items():
        for label, _, _ in CLASSES:
            mine = [r for r in rows if r[2] == key and r[1] == label and r[3] is not None]
            if not mine:
                continue
            errors = [r[3] for r in mine]
            worst = max(mine, key=lambda r: abs(r[3]))
            aimed = [r for r in mine if r[4] is not None]
            missed = sum(abs(r[3]) > r[4] for r in aimed)
            missed_all += missed
            said = [r for r in mine if r[5] is not None]
            inside = sum(abs(r[3]) <= r[5] + 1e-12 for r in said)
            spread = rms([r[3] / r[5] for r in said if r[5] > 0])  # sizes differ, so each error in its own half widths
            ratio = 1.0 / spread if spread > 0 else None  # nan > 0 is false
            print("%-24s %-8s %4d %11s %11s %11s %9s %8s %7s %9s %s" % (
                key, label, len(mine), shown(kind, statistics.fmean(errors)), shown(kind, rms(errors)),
                shown(kind, abs(worst[3])), shown(kind, aimed[0][4]) if aimed else "-",
                "%d/%d" % (missed, len(aimed)) if aimed else "-",
                "%.0f %%" % (100 * inside / len(said)) if said else "-", "%.2f" % ratio if ratio else "-",
                os.path.basename(worst[0])))
    return missed_all


def coverage(rows):
    said = [r for r in rows if r[5] is not None and r[3] is not None]
    if not said:
        print("\nno uncertainty was stated")
        return
    inside = sum(abs(r[3]) <= r[5] + 1e-12 for r in said)
    print("\ntruth inside the stated 95 %% edge uncertainty: %d of %d (%.1f %%; wanted at least 90)" % (
        inside, len(said), 100 * inside / len(said)))
    print("u95/rms above: wanted between about 1.2 and 3")
    outside = sorted((r for r in said if abs(r[3]) > r[5]), key=lambda r: -abs(r[3]) / max(r[5], 1e-12))
    for r in outside[:12]:
        print("  outside by %5.1f x  %-24s %s" % (abs(r[3]) / max(r[5], 1e-12), r[2], os.path.basename(r[0])))


def offenders(rows):
    bad = sorted((r for r in rows if r[4] is not None and abs(r[3]) > r[4]), key=lambda r: -abs(r[3]) / r[4])
    print("\nworst offenders against the targets (error / target):" if bad else "\nevery target met")
    for r in bad[:20]:
        kind = KEYS[r[2]][0]
        print("  %5.1f x  %-24s %11s  %s" % (abs(r[3]) / r[4], r[2], shown(kind, r[3]), os.path.basename(r[0])))
    lost = [r for r in rows if r[3] is None and r[2] == "seam_direction_deg"]
    if lost:
        print("seam found where there is none, or not found where there is one: %d: %s" % (
            len(lost), " ".join(os.path.basename(r[0]) for r in lost[:12])))


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder")
    parser.add_argument("--command", default="build/standfast ring {} --json", help="{} stands for the picture")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", default="", help="only pictures whose name holds this")
    parser.add_argument("--csv", help="write every error here")
    args = parser.parse_args()
    tasks = list(pictures(args.folder, args.only))
    unfit = list(refusals(args.folder, args.only))
    wrong = check_refusals(args.command, unfit) if unfit else 0
    if unfit and not tasks:
        sys.exit(1 if wrong else 0)
    if not tasks:
        sys.exit("score_rings: no picture with a .truth.json or .refuse.json beside it in %s" % args.folder)
    rows, refused, spent = [], [], 0.0
    with concurrent.futures.ThreadPoolExecutor(args.jobs) as pool:
        answers = pool.map(lambda t: measure(args.command, *t), tasks)
        for (path, truth), (result, problem, seconds) in zip(tasks, answers):
            spent += seconds
            if problem:
                refused.append((path, problem))
            else:
                rows += judge(path, truth, result)
    print("%d pictures, %d measured, %d refused, %.1f s" % (len(tasks), len(tasks) - len(refused), len(refused), spent))
    for path, problem in refused:
        print("  refused %s: %s" % (os.path.basename(path), problem))
    missed = table(rows)
    coverage(rows)
    offenders(rows)
    if args.csv:
        with open(args.csv, "w", encoding="utf-8") as out:
            out.write("picture,class,key,error,target,stated_edge\n")
            for r in rows:
                out.write(",".join("" if v is None else str(v) for v in (os.path.basename(r[0]),) + r[1:]) + "\n")
    sys.exit(1 if refused or missed or wrong else 0)


if __name__ == "__main__":
    main()
