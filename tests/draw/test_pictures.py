#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
# `standfast ring --picture` from outside: whole files or none, words that match the JSON result, and an SVG that another
# program (librsvg) draws as meant. Usage: test_pictures.py STANDFAST MAKE_RINGS
import json
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree
import zlib

STANDFAST, MAKE_RINGS = sys.argv[1:3]
ROOT = os.environ["TAP_ROOT"]
SVG = "{http://www.w3.org/2000/svg}"
cases = []


def case(run):
    cases.append(run)
    return run


def ring(*words):
    return subprocess.run([STANDFAST, "ring", *words], capture_output=True, text=True)


def read(path):
    with open(path, "rb") as file:
        return file.read()


def pixels(png):
    """Width, height and a function (x, y) -> (r, g, b) of an 8-bit RGB or RGBA PNG (ISO/IEC 15948, filters 0 to 4)."""
    width, height, depth, kind = struct.unpack(">IIBB", png[16:26])
    assert depth == 8 and kind in (2, 6), "8-bit colour"
    at, packed = 8, b""
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        if png[at + 4 : at + 8] == b"IDAT":
            packed += png[at + 8 : at + 8 + length]
        at += 12 + length
    data, size = zlib.decompress(packed), 3 if kind == 2 else 4
    stride, rows, above = width * size, [], bytes(width * size)
    for y in range(height):
        row = bytearray(data[y * (stride + 1) + 1 : (y + 1) * (stride + 1)])
        filtering = data[y * (stride + 1)]
        for x in range(stride):
            a = row[x - size] if x >= size else 0
            b, c = above[x], above[x - size] if x >= size else 0
            if filtering == 1:
                row[x] = (row[x] + a) & 255
            elif filtering == 2:
                row[x] = (row[x] + b) & 255
            elif filtering == 3:
                row[x] = (row[x] + (a + b) // 2) & 255
            elif filtering == 4:
                p = a + b - c
                near = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))[2]
                row[x] = (row[x] + near) & 255
        rows.append(row)
        above = row
    return width, height, lambda x, y: tuple(rows[y][x * size : x * size + 3])


@case
def an_svg_is_well_formed_and_says_what_the_json_says(folder, scan):
    out = os.path.join(folder, "ring.svg")
    run = ring(scan, "--nominal-wall-mm", "6", "--user", "adult", "--picture", out, "--json")
    assert run.returncode == 0, run.stderr
    result, root = json.loads(run.stdout), tree.parse(out).getroot()
    assert root.tag == SVG + "svg" and root.get("width") == "210mm" and root.get("height") == "148mm"
    title, words = root.find(SVG + "title").text, root.find(SVG + "desc").text
    assert result["decision"] in title and result["decision_words"] in words
    for key in ("reasons", "causes"):
        assert result[key]
        for item in result[key]:
            assert item["text"] in words, item["text"]
    assert result["safety"] in words and result["evidence"] in words
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids)), "identifiers are unique"


@case
def the_png_has_its_size_and_its_resolution(folder, scan):
    out = os.path.join(folder, "ring.png")
    assert ring(scan, "--picture", out).returncode == 0
    png = read(out)
    assert struct.unpack(">II", png[16:24]) == (2100, 1480)
    at = png.index(b"pHYs")
    assert struct.unpack(">IIB", png[at + 4 : at + 13]) == (10000, 10000, 1)
    assert struct.unpack(">I", png[at + 13 : at + 17])[0] == zlib.crc32(png[at : at + 13])


@case
def the_same_ring_gives_the_same_bytes(folder, scan):
    for ending in ("png", "svg", "pdf"):
        first, second = (os.path.join(folder, f"{name}.{ending}") for name in ("one", "two"))
        assert ring(scan, "--picture", first).returncode == 0
        assert ring(scan, "--picture", second).returncode == 0
        assert read(first) == read(second), ending


@case
def where_nothing_can_be_written_nothing_is_left(folder, scan):
    before = sorted(os.listdir(folder))
    for out in (os.path.join(folder, "no", "such", "ring.png"), os.path.join(scan, "ring.svg")):
        run = ring(scan, "--picture", out)
        assert run.returncode == 5 and out in run.stderr, (run.returncode, run.stderr)
        assert run.stdout == ""
    assert sorted(os.listdir(folder)) == before


@case
def a_name_that_tells_no_kind_is_refused_before_any_work(folder, scan):
    out = os.path.join(folder, "ring.jpg")
    run = ring(scan, "--picture", out)
    assert run.returncode == 2 and ".png, .svg or .pdf" in run.stderr, run.stderr
    assert not os.path.exists(out)


@case
def a_picture_that_was_there_stays_when_the_scan_is_refused(folder, scan):
    out, bad = os.path.join(folder, "old.png"), os.path.join(folder, "bad.png")
    for path, data in ((out, b"old"), (bad, b"no picture")):
        with open(path, "wb") as file:
            file.write(data)
    assert ring(bad, "--picture", out).returncode == 3
    assert read(out) == b"old"


@case
def another_program_draws_the_svg_as_meant(folder, scan):
    if not shutil.which("rsvg-convert"):
        return "SKIP librsvg2-bin is not installed"
    out, drawn = os.path.join(folder, "ring.svg"), os.path.join(folder, "drawn.png")
    readings = os.path.join(folder, "readings.csv")
    with open(readings, "w") as file:
        print("angle_deg,outer_mm,wall_mm", file=file)
        for angle in range(0, 360, 5):
            print(f"{angle},22.5,5.5", file=file)
    for words, band in (([scan], True), (["--caliper", readings], False)):
        assert ring(*words, "--picture", out).returncode == 0
        subprocess.run(["rsvg-convert", "-w", "840", out, "-o", drawn], check=True)
        width, height, at = pixels(read(drawn))
        assert (width, height) == (840, 592)
        # 4 pixels a millimetre; the ring's middle lies at (57, 51.9). Beside the cross the bore is plain paper, and the
        # wall is grey where the scan shows and hatched where it does not.
        bore = [at(228 + x, 208 + y) for x in range(8, 20, 3) for y in (-4, 4)]
        assert all(min(colour) > 240 for colour in bore), bore
        wall = [at(228 + x, 208) for x in range(82, 110)]
        assert any(max(colour) < 235 for colour in wall), wall
        if band:
            assert any(max(colour) < 60 for colour in [at(228 + x, 208) for x in range(60, 130)]), "the dark ground"
    return None


@case
def a_limb_is_drawn_whole_and_says_what_the_json_says(folder, scan):
    for name in ("adult", "child", "heavy-adult", "early-wrong-holes", "unjoined-seam"):
        limb, out = os.path.join(ROOT, "data/examples", name + ".json"), os.path.join(folder, name + ".svg")
        run = subprocess.run([STANDFAST, "strength", limb, "--picture", out, "--json"], capture_output=True, text=True)
        assert run.returncode == 0, run.stderr
        words = tree.parse(out).getroot().find(SVG + "desc").text
        result = json.loads(run.stdout)
        assert result["safety"] in words
        for at in result["temperatures"]:
            for kind, factor in at["factors"].items():
                told = [line for line in words.split("\n") if line.startswith(f"{at['level']} {kind.replace('_', ', ')}, ")]
                told = [line for line in told if f" at {at['temperature_c']:.0f} \u00b0C:" in line]
                assert len(told) == 1 and f" {factor:.2f} times" in told[0], (kind, factor, told)


@case
def a_limb_that_cannot_be_solved_leaves_no_picture(folder, scan):
    limb, out = os.path.join(folder, "limb.json"), os.path.join(folder, "limb.png")
    with open(limb, "w") as file:
        file.write('{ "format": "standfast-limb/1", "person": { "side": "left", "body_mass_kg": 70 } }')
    run = subprocess.run([STANDFAST, "strength", limb, "--picture", out], capture_output=True, text=True)
    assert run.returncode == 3 and "pylon" in run.stderr, (run.returncode, run.stderr)
    assert os.listdir(folder) == ["limb.json"]


def main():
    print(f"1..{len(cases)}")
    failed = 0
    with tempfile.TemporaryDirectory() as made:
        subprocess.run([MAKE_RINGS, os.path.join(ROOT, "data/demo/rings.json"), made], check=True, capture_output=True)
        scan = os.path.join(made, "unjoined.png")
        for number, run in enumerate(cases, 1):
            name = run.__name__.replace("_", " ")
            with tempfile.TemporaryDirectory() as folder:
                try:
                    skip = run(folder, scan)
                    print(f"ok {number} - {name}" + (f" # {skip}" if skip else ""))
                except (AssertionError, subprocess.CalledProcessError) as problem:
                    failed += 1
                    print(f"# {problem}\nnot ok {number} - {name}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
