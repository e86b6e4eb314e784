#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Builds the page and writes its files into one C file, plain and gzipped, so that the program needs no folder to serve it.

Usage: embed_page.py NODE BUILD.MJS FOLDER DEPFILE OUT.c    makes `sf_page_files` of src/server/page_file.h
"""
import gzip
import hashlib
import pathlib
import subprocess
import sys

TYPES = {".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
         ".svg": "image/svg+xml", ".woff2": "font/woff2"}


def array(name, data):
    rows = [", ".join(map(str, data[i : i + 32])) for i in range(0, len(data), 32)]
    return "static const unsigned char %s[] = {\n%s\n};\n" % (name, ",\n".join(rows))


def main():
    node, build, folder, depfile, target = sys.argv[1:6]
    folder = pathlib.Path(folder).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    done = subprocess.run([node, build, folder, pathlib.Path(depfile).resolve(), target])
    if done.returncode != 0:
        return done.returncode
    arrays, entries = [], []
    for number, path in enumerate(sorted(p for p in folder.iterdir() if p.suffix in TYPES)):
        data = path.read_bytes()
        packed = gzip.compress(data, 9, mtime=0)
        if len(packed) >= len(data):
            packed = b""
        arrays.append(array("plain_%d" % number, data))
        if packed:
            arrays.append(array("packed_%d" % number, packed))
        entries.append('    { "/%s", "%s", "\\"%s\\"", plain_%d, sizeof plain_%d, %s },\n' % (
            "" if path.name == "index.html" else path.name, TYPES[path.suffix], hashlib.sha256(data).hexdigest()[:24],
            number, number, "packed_%d, sizeof packed_%d" % (number, number) if packed else "NULL, 0"))
    text = '#include "server/page_file.h"\n\n' + "".join(arrays)
    text += "\nconst sf_PageFile sf_page_files[] = {\n" + "".join(entries) + "};\n"
    text += "const size_t sf_page_file_count = sizeof sf_page_files / sizeof sf_page_files[0];\n"
    pathlib.Path(target).write_text(text, encoding="ascii")
    return 0


if __name__ == "__main__":
    sys.exit(main())
