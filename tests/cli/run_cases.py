#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the real program on the cases of one file and reports TAP.

Usage: run_cases.py PROGRAM CASES [NAME-PART...]

A cases file holds blocks; lines that start with '#' say why:

    case: an unknown command names the known ones
    run: frobnicate --json
    exit: 2
    stderr-has: ring

    case: a ring is measured
    run: ring $RINGS/sound.png --json
    number: area_mm2 = 648.9 +- 0.6        (source: closed form)
    number: uncertainty.area_mm2.edge in 0.01 .. 2
    keys: dpi polarity voids
    null: torsion_constant_mm4

Directives (each may come more than once where that makes sense; `run` is needed):
    before: SHELL LINE      makes the files that the case needs, in the case's own folder; $STANDFAST is the program
    run: ARGUMENTS          split as a shell would; $DATA is tests/data, $ROOT the tree, $NAME any variable of the
                            environment; the case runs in its own empty folder
    exit: N                 default 0
    stdout-has: TEXT, stderr-has: TEXT, stdout-lacks: TEXT, stderr-lacks: TEXT
    stdout-lines: N         so many lines, no more
    keys: PATH...           present in the JSON object (a.b[0].c)
    null: PATH...           present and null, and notes[] is not empty
    text: PATH = TEXT       equal
    number: PATH = X +- T (source: ...)   or   number: PATH in A .. B
    length: PATH = N        of an array
    writes: FILE...         the files that the run makes; all others are a failure
Always checked: no signal, no sanitizer report, within 60 s. With exit 0: nothing on stderr unless `stderr-has` says so;
with --json exactly one JSON object, with the keys that every result has (unless `run` holds --help, --version or
--signs). Otherwise: stdout empty, stderr one line "standfast: ..." (of a sentence that a person can read), and no file
written or changed.
"""
import json
import os
import pathlib
import re
import shlex
import signal
import subprocess
import sys
import tempfile

DIRECTIVES = ("case before run exit stdout-has stderr-has stdout-lacks stderr-lacks stdout-lines keys null text number "
              "length writes").split()
COMMON_KEYS = ["tool_version", "inputs_sha256", "assumptions", "notes", "safety"]
LONGEST_S = 60


def parse(path):
    """The cases of a file: lists of (directive, argument)."""
    cases = []
    for number, line in enumerate(pathlib.Path(path).read_text(encoding="utf-8").splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        word, colon, argument = line.partition(":")
        if not colon or word.strip() not in DIRECTIVES:
            raise SystemExit("Bail out! %s:%d: no such directive: %s" % (path, number, line))
        if word.strip() == "case":
            cases.append([])
        if not cases:
            raise SystemExit("Bail out! %s:%d: before the first case" % (path, number))
        cases[-1].append((word.strip(), argument.strip()))
    return cases


def at(value, path):
    """The value at a path such as a.b[0].c; KeyError names the part that is not there."""
    for key, index in re.findall(r"([^.\[\]]+)|\[(\d+)\]", path):
        try:
            value = value[int(index)] if index else value[key]
        except (KeyError, IndexError, TypeError):
            raise KeyError("%s is not there" % path) from None
    return value


def check_number(document, argument):
    match = re.fullmatch(r"(\S+) = (\S+) \+- (\S+)\s+\(source: .+\)", argument)
    if match:
        path, low, high = match[1], float(match[2]) - float(match[3]), float(match[2]) + float(match[3])
    else:
        match = re.fullmatch(r"(\S+) in (\S+) \.\. (\S+)", argument)
        if not match:
            return "no such comparison (is the source missing?): " + argument
        path, low, high = match[1], float(match[2]), float(match[3])
    got = at(document, path)
    if isinstance(got, bool) or not isinstance(got, (int, float)) or not low <= got <= high:
        return "%s is %r, expected %g .. %g" % (path, got, low, high)
    return None


def check_json(document, directive, argument):
    """What one directive finds wrong with the JSON object, or None."""
    try:
        if directive == "keys":
            for path in argument.split():
                at(document, path)
        elif directive == "null":
            for path in argument.split():
                if at(document, path) is not None:
                    return "%s is %r, expected null" % (path, at(document, path))
            if not at(document, "notes"):
                return "a null without a note"
        elif directive == "number":
            return check_number(document, argument)
        else:
            path, _, wanted = argument.partition(" = ")
            got = at(document, path)
            got = str(len(got)) if directive == "length" else got
            if got != wanted:
                return "%s of %s is %r, expected %r" % (directive, path, got, wanted)
    except KeyError as missing:
        return missing.args[0]
    return None


def contents(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in pathlib.Path(folder).rglob("*") if path.is_file()}


def always(case, arguments, run, exit_code, changed):
    """What must hold of every run."""
    said = [argument for directive, argument in case if directive == "stderr-has"]
    writes = {name for directive, argument in case if directive == "writes" for name in argument.split()}
    if run.returncode < 0:
        yield "ended by signal %s" % signal.Signals(-run.returncode).name
    if run.returncode != exit_code:
        yield "exit code %d, expected %d" % (run.returncode, exit_code)
    if re.search("Sanitizer|runtime error:", run.stderr):
        yield "a sanitizer complained"
    if changed != writes:
        yield "files written or changed: %s, expected: %s" % (sorted(changed), sorted(writes))
    if exit_code == 0:
        if run.stderr and not said:
            yield "stderr is not empty"
    else:
        if run.stdout:
            yield "stdout is not empty"
        if not re.fullmatch(r"standfast: (\S+: )?[^\n]{15,}\n", run.stderr):
            yield "stderr is not one line 'standfast: COMMAND: a sentence'"


def read_json(arguments, run):
    """The JSON object of a run with --json, and what is wrong with it."""
    if "--json" not in arguments or run.returncode != 0 or {"--help", "--version", "--signs"} & set(arguments):
        return None, []
    try:
        document = json.loads(run.stdout, parse_constant=lambda word: 1 / 0)
    except (ValueError, ZeroDivisionError):
        return None, ["stdout is not one JSON object with finite numbers"]
    if not isinstance(document, dict):
        return None, ["stdout is not one JSON object"]
    return document, ["%s is not there" % key for key in COMMON_KEYS if key not in document]


def check_text(directive, argument, run):
    stream, _, kind = directive.partition("-")
    text = getattr(run, stream)
    if kind == "lines":
        lines = len(text.splitlines())
        return None if lines == int(argument) else "%s has %d lines, expected %s" % (stream, lines, argument)
    if (argument in text) != (kind == "has"):
        return "%s %s '%s'" % (stream, "lacks" if kind == "has" else "holds", argument)
    return None


def run_case(program, case, environment):
    """What is wrong with one case, line by line."""
    single = dict(case)
    if "run" not in single:
        return ["the case has no 'run:'"]
    with tempfile.TemporaryDirectory() as folder:
        for directive, argument in case:
            if directive == "before":
                subprocess.run(["bash", "-ec", argument], cwd=folder, env=environment, check=True)
        before = contents(folder)
        arguments = [re.sub(r"\$(\w+)", lambda m: environment[m[1]], word) for word in shlex.split(single["run"])]
        try:
            run = subprocess.run([program] + arguments, cwd=folder, env=environment, stdin=subprocess.DEVNULL,
                                 capture_output=True, text=True, errors="replace", timeout=LONGEST_S)
        except subprocess.TimeoutExpired:
            return ["ran longer than %d s" % LONGEST_S]
        after = contents(folder)
    changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    wrong = list(always(case, arguments, run, int(single.get("exit", 0)), changed))
    document, bad = read_json(arguments, run)
    wrong += bad
    for directive, argument in case:
        if directive.startswith(("stdout-", "stderr-")):
            wrong.append(check_text(directive, argument, run))
        elif directive in ("keys", "null", "text", "number", "length"):
            wrong.append(check_json(document, directive, argument) if document is not None else "no JSON object for '%s'" % argument)
    wrong = [line for line in wrong if line]
    if wrong:
        for name in ("stdout", "stderr"):
            wrong += ["%s| %s" % (name, line) for line in getattr(run, name).splitlines()[:30]]
    return wrong


def main(program, path, parts):
    root = pathlib.Path(__file__).resolve().parents[2]
    environment = dict(os.environ, ROOT=str(root), DATA=str(root / "tests/data"), STANDFAST=os.path.abspath(program),
                       LC_ALL="C.UTF-8")
    cases = [case for case in parse(path) if not parts or any(part in case[0][1] for part in parts)]
    failed = 0
    print("1..%d" % len(cases), flush=True)
    for number, case in enumerate(cases, 1):
        wrong = run_case(os.path.abspath(program), case, environment)
        failed += bool(wrong)
        for line in wrong:
            print("# " + line)
        print("%sok %d - %s" % ("not " if wrong else "", number, case[0][1]), flush=True)
    return 1 if failed or not cases else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], sys.argv[3:]))
