#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds src/ against docs/layers.md, and proves on small planted trees that each rule would notice a breach."""
import os
import pathlib
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
sys.dont_write_bytecode = True  # no folder of byte code in the tree
import house
import law

GOOD = {
    "docs/layers.md": "| layer | module | holds | may include |\n|---|---|---|---|\n"
    "| L0 | `base` | x | - |\n| L1 | `num` | x | base |\n| L1 | `geom` | x | base, num |\n"
    "| L2 | `top` | x | L0, L1 |\n\n"
    "| library | owner | headers |\n|---|---|---|\n| A | `base` | jansson.h |\n| B | `num` | gsl/ |\n",
    "src/base/text.h": "// SPDX-License-Identifier: GPL-3.0-or-later\n#pragma once\n#include <stdio.h>\n",
    "src/base/text.c": '// SPDX-License-Identifier: GPL-3.0-or-later\n#include "base/text.h"\n#include <jansson.h>\n'
    "// malloc(1) in a comment, and \"free(2)\" in a text, are none\nint x(void)\n{\n    return 0;\n}\n",
    "src/num/fit.h": "// SPDX-License-Identifier: GPL-3.0-or-later\n#pragma once\n#include <gsl/gsl_cdf.h>\n",
    "src/top/limb.c": '// SPDX-License-Identifier: GPL-3.0-or-later\n#include "num/fit.h"\n#include "base/text.h"\n',
}
SPDX = "// SPDX-License-Identifier: GPL-3.0-or-later\n"

# What is planted, and a part of the complaint that it must bring. Nothing else may be complained of.
PLANTED = [
    ("an include that points up", {"src/base/up.c": SPDX + '#include "num/fit.h"\n'}, "base may not include num"),
    ("an include with blanks in it", {"src/base/up.c": SPDX + '  #  include  "top/x.h"\n'}, "base may not include top"),
    ("an include between sisters", {"src/num/side.c": SPDX + '#include "geom/point.h"\n'}, "num may not include geom"),
    ("a folder without a row", {"src/stray/thing.c": SPDX}, "no row"),
    ("a library in the wrong module", {"src/top/bad.c": SPDX + "#include <jansson.h>\n"}, "belongs to base"),
    ("a library's folder in the wrong module", {"src/base/bad.c": SPDX + '#include "gsl/gsl_math.h"\n'}, "belongs to num"),
    ("a library that nobody owns", {"src/base/bad.c": SPDX + "#include <curl/curl.h>\n"}, "nobody owns"),
    ("an include not written from src", {"src/base/bad.c": SPDX + '#include "text.h"\n'}, "not written from src"),
    ("a circle in the law", {"docs/layers.md": GOOD["docs/layers.md"].replace("| x | base |", "| x | base, geom |")}, "circle"),
    ("a law that points up", {"docs/layers.md": GOOD["docs/layers.md"].replace("| x | - |", "| x | top |")}, "higher layer"),
    ("one name twice", {"src/num/text.c": SPDX}, "twice"),
    ("a file called utils", {"src/num/fit_utils.c": SPDX}, "no noun"),
    ("a file without its licence line", {"src/num/bare.c": "int x;\n"}, "SPDX"),
    ("a header without its guard", {"src/num/bare.h": SPDX}, "#pragma once"),
    ("a file of 801 lines", {"src/num/long.c": SPDX + "int x;\n" * 800}, "801 lines"),
    ("a function of 81 lines", {"src/num/long.c": SPDX + "int f(void)\n{\n" + "    g();\n" * 79 + "}\n"}, "81 lines"),
    ("a heap of its own", {"src/num/heap.c": SPDX + "void *p = malloc(3);\n"}, "base/alloc.h"),
    ("a place of one machine", {"tests/x.md": "see /" + "work/notes\n"}, "place of one machine"),
]
# As large as allowed: no complaint.
ALLOWED = [
    ("a file of 800 lines", {"src/num/long.c": SPDX + "int x;\n" * 799}),
    ("a function of 80 lines", {"src/num/long.c": SPDX + "int f(void)\n{\n" + "    g();\n" * 78 + "}\n"}),
    ("the allocator's own heap", {"src/base/alloc.c": SPDX + "void *p = malloc(3);\n"}),
]


def complaints(root):
    """Everything that breaks the law of layers or a rule of the house in the tree at `root`."""
    root = pathlib.Path(root)
    found, rules = law.read(root / "docs/layers.md")
    return found + law.check_includes(root, rules) + house.check(root)


def complaints_of_planted(extra):
    with tempfile.TemporaryDirectory() as folder:
        for name, text in {**GOOD, **extra}.items():
            path = pathlib.Path(folder, name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return complaints(folder)


def main():
    cases = []
    root = os.environ.get("TAP_ROOT") or str(pathlib.Path(__file__).resolve().parents[2])
    cases.append(("the tree keeps its layers and the rules of the house", complaints(root)))
    cases.append(("a good tree brings no complaint", complaints_of_planted({})))
    for what, extra in ALLOWED:
        cases.append((what + " is allowed", complaints_of_planted(extra)))
    for what, extra, wanted in PLANTED:
        found = complaints_of_planted(extra)
        good = found and all(wanted in line for line in found)
        cases.append((what + " is noticed", [] if good else ["wanted '%s', got %s" % (wanted, found or "nothing")]))
    print("1..%d" % len(cases))
    for number, (what, problems) in enumerate(cases, 1):
        for problem in problems:
            print("# " + problem)
        print("%sok %d - %s" % ("not " if problems else "", number, what))
    return 1 if any(problems for _, problems in cases) else 0


if __name__ == "__main__":
    sys.exit(main())
