# SPDX-License-Identifier: GPL-3.0-or-later
"""The rules of the house that a machine can read: names, licence lines, lengths, the heap, places of one machine."""
import os
import re

SPDX = "// SPDX-License-Identifier: GPL-3.0-or-later"
LONGEST_FILE, LONGEST_FUNCTION = 800, 80
NO_NOUN = re.compile(r"(^|_)(utils?|common|misc|helpers?|stuff)(_|$)")
HEAP = re.compile(r"(?<![\w.>])(malloc|calloc|realloc|free|strdup|strndup|asprintf|vasprintf)\s*\(")
PLACES = re.compile(r"(?<![\w.}])/(" + "|".join(["work", "root", "home/[a-z]"]) + r")\b|\.\./" + r"shared\b")
TEXT = (".c", ".h", ".md", ".py", ".sh", ".build", ".txt", ".json", ".csv", ".cases", "")


def without_comments(text):
    """C text with comments, strings and characters blanked; the lines keep their numbers."""
    pattern = re.compile(r"//[^\n]*|/\*.*?\*/|\"(?:\\.|[^\"\\\n])*\"|'(?:\\.|[^'\\\n])*'", re.S)
    return pattern.sub(lambda match: re.sub(r"[^\n]", " ", match.group()), text)


def long_functions(lines):
    """(line, length) of functions that are too long: clang-format puts their outer braces alone into column 0."""
    start = None
    for number, line in enumerate(lines, 1):
        if line.rstrip() == "{":
            start = number
        elif line.startswith("}") and start is not None:
            length = number - start + 1
            if length > LONGEST_FUNCTION:
                yield start, length
            start = None


def check_c(path, name):
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    if not lines or lines[0] != SPDX:
        yield "%s: the first line must be the SPDX line" % name
    if path.suffix == ".h" and "#pragma once" not in lines:
        yield "%s: a header needs #pragma once" % name
    if len(lines) > LONGEST_FILE:
        yield "%s: %d lines, allowed are %d" % (name, len(lines), LONGEST_FILE)
    for number, length in long_functions(lines):
        yield "%s:%d: a function of %d lines, allowed are %d" % (name, number, length, LONGEST_FUNCTION)
    if name.startswith("src/") and name != "src/base/alloc.c":
        for number, line in enumerate(without_comments(text).splitlines(), 1):
            if HEAP.search(line):
                yield "%s:%d: the heap is reached through base/alloc.h" % (name, number)


def check_names(root):
    seen = {}
    for path in sorted((root / "src").rglob("*.[ch]")):
        name = str(path.relative_to(root))
        if NO_NOUN.search(path.stem) or NO_NOUN.search(path.parent.name):
            yield "%s: the name is no noun of this job" % name
        other = seen.setdefault(path.stem, path.parent)
        if other != path.parent:
            yield "%s: the name is there twice (also in %s)" % (name, other.relative_to(root))


def files(root):
    for folder, below, names in os.walk(root):
        below[:] = [name for name in below if not name.startswith("build") and name not in (".git", "node_modules")]
        for name in names:
            yield root.__class__(folder, name)


def check(root):
    found = list(check_names(root))
    for path in sorted(files(root)):
        name = str(path.relative_to(root))
        if path.suffix in (".c", ".h"):
            found += check_c(path, name)
        if path.suffix in TEXT and path.is_file() and path.name not in (".git",):
            for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1):
                if PLACES.search(line):
                    found.append("%s:%d: names a place of one machine" % (name, number))
    return found
