#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The scoring of measured rings: shown a perfect, a biased, an over-sure and a timid measurement, it must tell them apart."""
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
RINGS = ROOT / "tests/data/rings"
PROGRAM = """
import json, pathlib, random, sys
share, stated = float(sys.argv[1]), float(sys.argv[2])
picture = pathlib.Path(sys.argv[3])
truth = json.loads(picture.with_suffix("").with_suffix(".truth.json").read_text())
if truth.get("file_states_dpi") is False and "--dpi" not in sys.argv:
    print("standfast: ring: no resolution", file=sys.stderr); sys.exit(3)
random.seed(picture.name)
wrong = random.gauss(0, 1) * share
truth["area_mm2"] *= 1 + wrong
truth["uncertainty"] = {"area_mm2": {"edge": stated * truth["area_mm2"], "scale": 0}}
print(json.dumps(truth))
"""
done = 0
failed = 0


def check(what, good):
    global done, failed
    done += 1
    failed += not good
    print("%s %d - %s" % ("ok" if good else "not ok", done, what))


def score(folder, *numbers):
    program = folder / "program.py"
    program.write_text(PROGRAM)
    command = "%s %s %s {}" % (sys.executable, program, " ".join(map(str, numbers)))
    run = subprocess.run([sys.executable, ROOT / "tools/score_rings.py", RINGS, "--command", command, "--jobs", "1"],
                         capture_output=True, text=True, check=False)
    said = re.search(r"edge uncertainty: (\d+) of (\d+)", run.stdout)
    ratio = [float(line.split()[-2]) for line in run.stdout.splitlines() if re.match(r"area_mm2 +150", line)]
    return run.returncode, said and (int(said[1]), int(said[2])), ratio[0] if ratio and ratio[0] == ratio[0] else 0.0, run.stdout


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    code, said, ratio, text = score(folder, 0.001, 0.002)
    check("a good measurement meets every target", code == 0 and "every target met" in text)
    check("its uncertainty holds the truth in most and is neither narrow nor wide",
          said[0] >= 0.85 * said[1] and 1.0 < ratio < 3.5)
    code, said, ratio, text = score(folder, 0.05, 0.002)
    check("a bad one misses its target, by name", code == 1 and re.search(r"x +area_mm2 .*\.(png|tif|jpg)", text))
    check("an over-sure one is told by the share that it holds", said[0] < 0.5 * said[1] and ratio < 0.2)
    code, said, ratio, text = score(folder, 0.0002, 0.002)
    check("a timid one is told by the ratio", ratio > 3.5)
    (folder / "r.refuse.json").write_text('{"refuse": "noise", "exit": 3}')
    (folder / "r.png").write_bytes(b"x")
    for exit_code, good in ((3, True), (1, False), (0, False)):
        run = subprocess.run([sys.executable, ROOT / "tools/score_rings.py", folder, "--command",
                              "%s -c 'import sys; print(\"it is noise\", file=sys.stderr); sys.exit(%d)' {}"
                              % (sys.executable, exit_code)], capture_output=True, text=True, check=False)
        check("exit %d is %s for a picture to be refused" % (exit_code, "right" if good else "wrong"),
              (run.returncode == 0) == good)
print("1..%d" % done)
sys.exit(1 if failed else 0)
