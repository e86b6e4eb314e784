#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The front door's own tools: the counting of tests, the runner of command-line cases, the installing of packages.
Each is shown what it must notice; a tool that lets everything through fails here."""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]


def run(*command, **more):
    return subprocess.run(command, capture_output=True, text=True, **more)


def summed(*runs):
    """What sum_tests.py makes of test programs, given as (stdout, result, exit code)."""
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder, "log.json")
        log.write_text("".join(json.dumps({"name": "x:base / t%d" % i, "stdout": out, "result": result, "returncode": code,
                                           "duration": 0.5}) + "\n" for i, (out, result, code) in enumerate(runs)))
        done = run(sys.executable, ROOT / "tools/sum_tests.py", str(log))
    return done.stdout.splitlines()[-1], done.returncode


PROGRAM = """#!/usr/bin/env python3
import json, os, signal, sys
common = {"tool_version": "1", "inputs_sha256": "", "assumptions": [], "notes": ["why"], "safety": "s", "area": 2.0, "gone": None}
what = sys.argv[1] if len(sys.argv) > 1 else ""
if what == "good": print(json.dumps(common))
if what == "twice": print(json.dumps(common) + json.dumps(common))
if what == "nan": print(json.dumps(dict(common, area=float("nan"))))
if what == "bare": print(json.dumps({"area": 2.0}))
if what == "crash": os.kill(os.getpid(), signal.SIGSEGV)
if what == "leaves": open("half", "w").close()
if what in ("refuse", "leaves", "mutter"):
    if what == "mutter": print("half a result")
    print("standfast: ring: the picture is blank; scan the ring again", file=sys.stderr)
    sys.exit(3)
if what == "curt":
    print("error", file=sys.stderr)
    sys.exit(3)
"""


def cased(text):
    """Exit code and output of the case runner on a made-up program."""
    with tempfile.TemporaryDirectory() as folder:
        program, cases = pathlib.Path(folder, "program"), pathlib.Path(folder, "x.cases")
        program.write_text(PROGRAM)
        program.chmod(0o755)
        cases.write_text("case: x\n" + text)
        done = run(sys.executable, ROOT / "tests/cli/run_cases.py", str(program), str(cases))
    return done.returncode, done.stdout + done.stderr


def installed(present, user, sudo=False, commands=(), tier="bench"):
    """Runs install_packages among stand-ins that say who runs and what is there; apt-get writes down its arguments."""
    with tempfile.TemporaryDirectory() as folder:
        def stand_in(name, body):
            path = pathlib.Path(folder, name)
            path.write_text("#!/bin/bash\n" + body)
            path.chmod(0o755)
        stand_in("dpkg-query", 'for p in "${@:4}"; do case " %s " in *" $p "*) printf "installed:%%s " $p ;; '
                 '*) printf "not-installed:%%s " $p ;; esac; done' % present)
        stand_in("id", "echo %d" % user)
        stand_in("apt-get", 'echo "$DEBIAN_FRONTEND $*" >>%s/calls' % folder)
        for name in commands:
            stand_in(name, "exit 0")
        for name in ("bash", "env", "dirname", "mktemp", "tail", "rm"):
            os.symlink(run("bash", "-c", "command -v " + name).stdout.strip(), pathlib.Path(folder, name))
        if sudo:
            stand_in("sudo", '[ "$1" = -n ] && exit 0; echo sudo >>%s/calls; "$@"' % folder)
        # A list of its own: the real one may move a package to another tier.
        pathlib.Path(folder, "packages.txt").write_text("# kept for these cases\n\npython3-opencv bench a reason\n"
                                                        "gcc build another\npython3-numpy bench a third\n"
                                                        "npm|command:npm page a fourth\n")
        script = shutil.copy(ROOT / "tools/install_packages", folder)
        done = run(script, tier, env={"PATH": folder, "TMPDIR": folder},
                   stdin=subprocess.DEVNULL)
        calls = pathlib.Path(folder, "calls")
        return done.returncode, done.stderr, calls.read_text() if calls.exists() else ""


def counting():
    good, bad = "1..2\nok 1 - a\nok 2 - b\n", "1..2\nok 1 - a\n# why\nnot ok 2 - b\n"
    yield "good cases are counted", summed((good, "OK", 0), (good, "OK", 0)) == ("4 passed, 0 failed", 0)
    yield "a failed case is counted", summed((good, "OK", 0), (bad, "FAIL", 1)) == ("3 passed, 1 failed", 1)
    yield "cases lost in a crash are failures", summed(("1..5\nok 1 - a\n", "FAIL", -11)) == ("1 passed, 4 failed", 1)
    yield "a program that says nothing is a failure", summed(("", "OK", 0)) == ("0 passed, 1 failed", 1)
    yield "an exit code alone is a failure", summed((good, "ERROR", 1)) == ("2 passed, 1 failed", 1)
    yield "a run that took too long is a failure", summed((good, "TIMEOUT", -15)) == ("2 passed, 1 failed", 1)
    yield "no program at all is a failure", summed()[1] == 1
    yield "a skipped case is no pass", summed(("1..2\nok 1 - a\nok 2 - b # SKIP x\n", "OK", 0)) == ("1 passed, 0 failed", 0)


def cases():
    for what, text in [
        ("a good run", "run: good --json\nnumber: area = 2 +- 0.1 (source: x)\nnull: gone\nkeys: safety\nlength: notes = 1"),
        ("a refusal", "run: refuse\nexit: 3\nstderr-has: blank"),
    ]:
        code, said = cased(text)
        yield "%s passes%s" % (what, "" if code == 0 else ": " + said), code == 0
    for what, text, wanted in [
        ("a wrong exit code", "run: refuse", "exit code 3"),
        ("a wrong number", "run: good --json\nnumber: area = 3 +- 0.1 (source: x)", "area is 2.0"),
        ("a number without its source", "run: good --json\nnumber: area = 2 +- 0.1", "source"),
        ("a null taken for a number", "run: good --json\nnumber: gone in 0 .. 9", "gone is None"),
        ("a missing key", "run: good --json\nkeys: nowhere", "nowhere is not there"),
        ("a value where null is due", "run: good --json\nnull: area", "expected null"),
        ("two objects", "run: twice --json", "not one JSON object"),
        ("a NaN", "run: nan --json", "finite"),
        ("a result without the common keys", "run: bare --json", "safety is not there"),
        ("a crash", "run: crash", "SIGSEGV"),
        ("a file left behind", "run: leaves\nexit: 3", "files written"),
        ("a half result", "run: mutter\nexit: 3", "stdout is not empty"),
        ("a curt refusal", "run: curt\nexit: 3", "one line"),
        ("a missing sentence", "run: refuse\nexit: 3\nstderr-has: two rings", "lacks"),
        ("a misspelt directive", "run: good\nexitt: 3", "no such directive"),
    ]:
        code, said = cased(text)
        yield "%s is noticed%s" % (what, "" if wanted in said else ": " + said), code != 0 and wanted in said


def installing():
    everything = "python3-opencv python3-numpy"
    yield "nothing is done when all is there", installed(everything, 0) == (0, "", "")
    code, _, calls = installed("python3-numpy", 0)
    yield "root installs what is missing", code == 0 and calls.count("\n") == 2 and "noninteractive" in calls and \
        "--no-install-recommends python3-opencv\n" in calls
    code, _, calls = installed("", 1000, sudo=True)
    yield "others go through sudo", code == 0 and calls.startswith("sudo\n") and "python3-opencv" in calls
    code, _, calls = installed("", 0, tier="page")
    yield "a package with a stand-in command is installed under its own name", code == 0 and \
        "--no-install-recommends npm\n" in calls
    yield "and left out where that command is there", installed("", 0, commands=("npm",), tier="page") == (0, "", "")
    code, said, calls = installed("", 1000)
    yield "without sudo one sentence names the packages", code == 1 and calls == "" and said.count("\n") == 1 and \
        everything in said


def installed_program(build):
    """`make install` brings the data along, and the installed program reads its own, not the source tree's."""
    with tempfile.TemporaryDirectory() as folder:
        done = run("meson", "install", "-C", build, "--no-rebuild", "--quiet", "--destdir", folder)
        program = next(pathlib.Path(folder).glob("**/bin/standfast"), None)
        yield "the program is installed", done.returncode == 0 and program is not None
        limits = next(pathlib.Path(folder).glob("**/share/standfast/ring_limits.json"), None)
        yield "its data are installed", limits is not None
        ring = (program, "ring", ROOT / "tests/data/known_rings/sound.png", "--json")
        yield "it judges a ring with them", run(*ring).returncode == 0
        limits.write_text("{")
        done = run(*ring)
        yield "and with no others", done.returncode == 3 and str(limits.parent.name) in done.stderr


def main():
    results = list(counting()) + list(cases()) + list(installing()) + list(installed_program(sys.argv[1]))
    print("1..%d" % len(results))
    for number, (what, good) in enumerate(results, 1):
        print("%sok %d - %s" % ("" if good else "not ", number, what.replace("\n", " / ")))
    return 0 if all(good for _, good in results) else 1


if __name__ == "__main__":
    sys.exit(main())
