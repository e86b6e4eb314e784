#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes a C file that holds a data file byte by byte, so that the program needs no path to find it.

Usage: embed.py IN OUT.c NAME    makes `const unsigned char NAME[]` and `const size_t NAME_size`
"""
import sys

source, target, name = sys.argv[1:4]
data = open(source, "rb").read()
rows = [", ".join(map(str, data[i : i + 24])) for i in range(0, len(data), 24)]
with open(target, "w", encoding="ascii") as out:
    out.write("#include <stddef.h>\n")
    out.write(f"extern const unsigned char {name}[];\nextern const size_t {name}_size;\n")
    out.write(f"const unsigned char {name}[] = {{\n" + ",\n".join(rows) + "\n};\n")
    out.write(f"const size_t {name}_size = {len(data)};\n")
