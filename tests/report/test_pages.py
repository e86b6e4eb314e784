#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Papers from outside: what other programs (poppler) read and render of them. Usage: test_pages.py STANDFAST ROOT

The wrap is measured in the rendered page: its bars within 0.1 mm, and each screw place found again where the limb file
puts it, by arithmetic of this test alone. TAP on stdout.
"""
import copy
import json
import math
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import jsonschema
import numpy

STANDFAST, ROOT = sys.argv[1], pathlib.Path(sys.argv[2])
EXAMPLES = ROOT / "data" / "examples"
SIZES = {"a4": (210, 297), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1
BAR_LIMIT_MM, PLACE_LIMIT_MM, BETWEEN_LIMIT_MM = 0.1, 0.15, 0.03
LONG = os.environ.get("TAP_LONG") == "1"  # every paper in both forms, every changed document
SAFETY = "An aid to the judgement of a licensed prosthetist, not a certificate"
cases = []


def case(run):
    cases.append(run)
    return run


def report(*words):
    return subprocess.run([STANDFAST, "report", *map(str, words)], capture_output=True, text=True, timeout=120)


def made(folder, limb, name, *words):
    out = os.path.join(folder, name)
    run = report(limb, "-o", out, *words, "--json")
    assert run.returncode == 0, run.stderr
    return out, json.loads(run.stdout)


def text_of(pdf):
    return subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout


def pages_of(pdf):
    info = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", info)
    return int(re.search(r"Pages:\s+(\d+)", info).group(1)), [float(v) / 72 * 25.4 for v in size.groups()], info


def rendered(pdf, page, dpi):
    """The page as an array rows x columns x 3."""
    run = subprocess.run(["pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page), pdf], capture_output=True, check=True)
    magic, size, depth, pixels = run.stdout.split(b"\n", 3)
    assert magic == b"P6" and depth == b"255"
    width, height = map(int, size.split())
    return numpy.frombuffer(pixels, dtype=numpy.uint8, count=3 * width * height).reshape(height, width, 3)


def longest_run(dark):
    """Length of the longest run of True along the rows of a 2-D array, and its row and start."""
    padded = numpy.zeros((dark.shape[0], dark.shape[1] + 2), dtype=numpy.int8)
    padded[:, 1:-1] = dark
    steps = numpy.diff(padded, axis=1)
    best = (0, 0, 0)
    for row in range(dark.shape[0]):
        begin, end = numpy.flatnonzero(steps[row] == 1), numpy.flatnonzero(steps[row] == -1)
        if len(begin):
            k = int(numpy.argmax(end - begin))
            best = max(best, (int(end[k] - begin[k]), row, int(begin[k])))
    return best


def blobs(mask):
    """Centres (x, y) and sizes of the connected patches of a mask."""
    seen, found = numpy.zeros(mask.shape, dtype=bool), []
    for y, x in zip(*numpy.nonzero(mask)):
        if seen[y, x]:
            continue
        stack, points = [(y, x)], []
        seen[y, x] = True
        while stack:
            cy, cx = stack.pop()
            points.append((cx, cy))
            for ny in range(cy - 1, cy + 2):
                for nx in range(cx - 1, cx + 2):
                    if 0 <= ny < mask.shape[0] and 0 <= nx < mask.shape[1] and mask[ny, nx] and not seen[ny, nx]:
                        seen[ny, nx] = True
                        stack.append((ny, nx))
        found.append((sum(p[0] for p in points) / len(points) + 0.5, sum(p[1] for p in points) / len(points) + 0.5, len(points)))
    return found


def screwed(side, outer=50.0, seam=262.0, holes=((24.5, 125.0), (151.0, 127.5)), rim_wall=4.0):
    """An invented limb with planned screws."""
    limb = json.loads((EXAMPLES / "early-wrong-holes.json").read_text())
    limb["person"].update(side=side, label="invented limb to drill")
    limb["pylon"]["rings"] = [{"height_mm": 110, "outer_diameter_mm": outer, "inner_diameter_mm": outer - 12.4, "seam_deg": seam}]
    limb["pylon"]["holes"] = [{"angle_deg": a, "height_mm": h, "diameter_mm": 6, "state": "planned"} for a, h in holes]
    limb["pylon"]["holes"].append({"angle_deg": 205.0, "height_mm": 131.0, "diameter_mm": 5, "state": "old-hole"})
    limb["adapter"].update(shank_mm=outer - 12.5, rim_mm=outer + 0.4, rim_wall_mm=rim_wall)
    return limb


def saved(folder, limb, name="limb.json"):
    path = os.path.join(folder, name)
    pathlib.Path(path).write_text(json.dumps(limb))
    return path


@case
def every_paper_fits_its_pages_and_says_its_cautions(folder):
    schema = json.loads((ROOT / "docs" / "report.schema.json").read_text())
    validator = jsonschema.Draft202012Validator(schema)
    forms = (("a4", "metric"), ("letter", "inch"))
    for number, example in enumerate(sorted(EXAMPLES.glob("*.json"))):
        for k, kind in enumerate(("release", "traveller", "care", "wrap")):
            for paper, units in forms if LONG else forms[(number + k) % 2 :: 2]:
                out, result = made(folder, example, "x.pdf", "--kind", kind, "--paper", paper, "--units", units)
                what = "%s %s %s" % (example.stem, kind, paper)
                assert not list(validator.iter_errors(result)), what + str(next(validator.iter_errors(result)))
                assert not [n for n in result["notes"] if "crowded" in n], what + str(result["notes"])
                count, size, info = pages_of(out)
                wanted = SIZES[paper] if kind != "wrap" else SIZES[paper][::-1]
                assert count == result["pages"] and max(abs(a - b) for a, b in zip(size, wanted)) < 0.1, what + str(size)
                assert "CreationDate" not in info, what
                words = " ".join(text_of(out).split())
                assert words.count(SAFETY) == count, what
                assert words.count(result["inputs_sha256"]) == count, what
                assert not re.search(r"\b(safe|complies|passes)\b", words, re.I), what
                if kind == "release":
                    assert count == 2, what  # every check on the first page
                    first = subprocess.run(["pdftotext", "-l", "1", out, "-"], capture_output=True, text=True).stdout
                    assert "signature" in first and "licensed prosthetist" in first, what


@case
def the_same_inputs_give_the_same_bytes(folder):
    for kind in ("release", "traveller", "care", "wrap"):
        for ending in ("pdf", "svg", "png") if LONG or kind == "wrap" else ("pdf",):
            one, _ = made(folder, EXAMPLES / "adult.json", "one." + ending, "--kind", kind)
            two, _ = made(folder, EXAMPLES / "adult.json", "two." + ending, "--kind", kind)
            assert pathlib.Path(one).read_bytes() == pathlib.Path(two).read_bytes(), kind + ending


@case
def both_bars_of_the_wrap_are_100_mm_when_rendered(folder):
    dpi = 600
    for side, paper in (("left", "a4"), ("right", "letter")):
        out, _ = made(folder, saved(folder, screwed(side)), "w.pdf", "--kind", "wrap", "--paper", paper)
        page = rendered(out, 1, dpi)
        dark = page.max(axis=2) < 100
        right = dark[:, -int(30 / 25.4 * dpi) : -int(13 / 25.4 * dpi)]
        up = longest_run(right.T)[0] / dpi * 25.4
        # the rule of the head is longer than the bar: look below it
        below = dark[int(20 / 25.4 * dpi) : int(30 / 25.4 * dpi), : int(140 / 25.4 * dpi)]
        along = longest_run(below)[0] / dpi * 25.4
        print("# %s: bar along %.3f mm, up %.3f mm" % (paper, along, up))
        assert abs(along - 100) < BAR_LIMIT_MM and abs(up - 100) < BAR_LIMIT_MM, (along, up)


def places_by_hand(limb, radius, low, join):
    """Where planned screws must lie on a strip: mm from its lower left corner."""
    sense = -1 if limb["person"]["side"] == "left" else 1
    out = []
    for hole in limb["pylon"]["holes"]:
        if hole["state"] == "planned":
            out.append((math.radians((sense * (hole["angle_deg"] - join)) % 360) * radius, hole["height_mm"] - low))
    return out


def frames(page, dpi, length):
    """Lower left corners (mm) of strips of that length: rows dark over the whole strip, the lowest of each group."""
    dark = page.max(axis=2) < 140
    rows, enough = [], dark.sum(axis=1) > (length - 1) / 25.4 * dpi
    for y in numpy.flatnonzero(enough)[numpy.flatnonzero(enough) > 32 / 25.4 * dpi]:
        run, _, start = longest_run(dark[y : y + 1])
        if abs(run / dpi * 25.4 - length) < 0.6:
            rows.append((y, start))
    return rows


@case
def screw_places_are_rendered_where_the_limb_file_puts_them(folder):
    dpi, flap = 300, 8.0
    for side, seam, outer in (("left", 262.0, 50.0), ("right", 262.0, 50.0), ("right", 95.0, 41.3), ("left", 30.0, 47.5)):
        limb = screwed(side, outer, seam)
        out, result = made(folder, saved(folder, limb), "w.pdf", "--kind", "wrap")
        join = result["wrap"]["join_deg"]
        assert join in (0, 90, 180, 270)
        page = rendered(out, 1, dpi).astype(int)
        blue = (page[:, :, 2] - page[:, :, 0] > 60) & (page[:, :, 2] > 90)
        dots = [(x / dpi * 25.4, y / dpi * 25.4) for x, y, n in blobs(blue) if n > 20]
        assert len(dots) == 4, dots  # two screws on each strip
        adapter = limb["adapter"]
        worst = between = 0
        for radius, low in ((outer / 2, 104.0), (adapter["rim_mm"] / 2 + adapter["rim_wall_mm"], 110.0)):
            rows = frames(page, dpi, 2 * math.pi * radius + flap)
            assert rows, "the strip's lower edge"
            y0, x0 = (max(rows)[0] + 0.11) / dpi * 25.4, (max(rows)[1] + 0.89) / dpi * 25.4
            shifts = []
            for along, up in places_by_hand(limb, radius, low, join):
                shifts.append(min(((x - x0 - along, y0 - y - up) for x, y in dots), key=lambda d: math.hypot(*d)))
                worst = max(worst, math.hypot(*shifts[-1]))
            between = max(between, math.hypot(shifts[0][0] - shifts[1][0], shifts[0][1] - shifts[1][1]))
        print("# %s, seam %g: worst place %.3f mm off the strip's corner, %.3f mm off the other screw" % (side, seam, worst, between))
        assert worst < PLACE_LIMIT_MM, worst  # the corner itself is read off the page to a pixel, 0.08 mm
        assert between < BETWEEN_LIMIT_MM, between
        for hole, (along, _) in zip([h for h in result["wrap"]["holes"] if h["role"] == "planned"], places_by_hand(limb, outer / 2, 0, join)):
            assert abs(hole["along_pylon_mm"] - along) < 0.01
            assert abs(hole["stop_collar_mm"] - (4.0 + 6.2 + 8.0)) < 0.02, hole  # rim + wall + shank's wall


@case
def a_pylon_longer_round_than_the_paper_takes_several_sheets(folder):
    limb = screwed("right", 95.0, 262.0, ((24.5, 125.0), (151.0, 127.5), (300.0, 126.0)))
    limb["adapter"]["rim_mm"] = 100.0
    limb["pylon"]["rings"][0]["inner_diameter_mm"] = 80
    limb["adapter"]["shank_mm"] = 79.8
    out, result = made(folder, saved(folder, limb), "w.pdf", "--kind", "wrap")
    assert result["pages"] > 1
    found = 0
    for page in range(1, result["pages"] + 1):
        pixels = rendered(out, page, 150).astype(int)
        found += len([n for _, _, n in blobs((pixels[:, :, 2] - pixels[:, :, 0] > 60) & (pixels[:, :, 2] > 90)) if n > 4])
        dark = pixels.max(axis=2) < 100
        bar = longest_run(dark[int(20 / 25.4 * 150) : int(30 / 25.4 * 150), : int(140 / 25.4 * 150)])[0] / 150 * 25.4
        assert abs(bar - 100) < 0.3, "every sheet has its bar"
    assert found >= 6, found  # three screws on each of two strips, those in an overlap twice
    assert "first part" in text_of(out) and "last part" in text_of(out)


@case
def without_planned_holes_the_places_are_a_proposal_and_a_band_has_none(folder):
    limb = screwed("left")
    limb["pylon"]["holes"] = []
    out, result = made(folder, saved(folder, limb), "w.pdf", "--kind", "wrap")
    assert [h["role"] for h in result["wrap"]["holes"]] == ["proposed", "proposed"]
    assert "proposal" in text_of(out)
    assert all(h["seam_mm"] >= 12 for h in result["wrap"]["holes"])
    out, result = made(folder, EXAMPLES / "adult.json", "b.pdf", "--kind", "wrap")
    assert result["wrap"]["holes"] == [] and len(result["wrap"]["strips"]) == 1
    assert "pinch band" in text_of(out)
    del limb["pylon"]["rings"][0]["seam_deg"]
    out, result = made(folder, saved(folder, limb), "w.pdf", "--kind", "wrap")
    assert result["wrap"]["seam_deg"] is None and "THE SEAM IS NOT KNOWN" in text_of(out)


WORDS = {"format": "standfast-report/1", "shop": {"name": "Invented Limb Shop", "address": "1 Invented Lane", "telephone": "000 111 222",
                                                  "statement": "Invented statement, first sentence.\n" + "It goes on and on. " * 180},
         "prosthetist": {"name": "Invented Prosthetist", "licence": "INV-1"}, "record": "limb 17, version 5", "record_sha256": "ab" * 32,
         "date": "2026-08-01", "wear_in_first_day_h": 2, "weighed_g": 1890,
         "decision": {"text": "May go home.", "reason": "an invented reason that stays", "date": "2026-08-01", "against_advice": True},
         "checks": [{"title": "Ring accepted", "state": "done", "by": "I.P.", "date": "2026-07-01"},
                    {"title": "Standing after the new spacer", "state": "again"}, {"title": "Vent", "state": "not-needed"}]}


@case
def the_words_stand_on_the_paper(folder):
    words = saved(folder, WORDS, "words.json")
    jsonschema.Draft202012Validator(json.loads((ROOT / "docs" / "report-words.schema.json").read_text())).validate(WORDS)
    out, result = made(folder, EXAMPLES / "adult.json", "r.pdf", "--words", words)
    text = " ".join(text_of(out).split())
    for part in ("Invented Limb Shop", "1 Invented Lane", "000 111 222", "Invented statement, first sentence.", "Invented Prosthetist, INV-1",
                 "limb 17, version 5", "ab" * 32, "May go home.", "an invented reason that stays", "Against the program's advice", "I.P., 2026-07-01",
                 "AGAIN", "not needed", "1 check is not done", "Wearing time of the first day: 2.0 h", "1.89 kg"):
        assert part in text, part
    assert text.count("It goes on and on.") == 180, "a long statement goes on over the page whole"
    assert result["record_sha256"] == "ab" * 32 and not [n for n in result["notes"] if "crowded" in n], result["notes"]
    care = " ".join(text_of(made(folder, EXAMPLES / "adult.json", "c.pdf", "--words", words, "--kind", "care", "--units", "inch")[0]).split())
    assert "000 111 222" in care and "0.79 in, give or take 0.2 in" in care and "172.0 lb" in care, care[:600]


@case
def figures_on_the_paper_are_those_of_the_commands(folder):
    ask = lambda *w: json.loads(subprocess.run([STANDFAST, *map(str, w), "--json"], capture_output=True, text=True).stdout)
    limb = EXAMPLES / "heavy-adult.json"
    text = " ".join(text_of(made(folder, limb, "r.pdf")[0]).split())
    strength = ask("strength", limb, "--samples", "0")
    level = strength["level_for_mass"]
    if level:
        proof = min(c["elastic_factor"] for c in strength["cases"] if c["level"] == level and c["force_kind"] == "proof")
        collapse = min(c["collapse_factor"] for c in strength["cases"] if c["level"] == level and c["force_kind"] == "proof")
        assert "%s, proof force: first yield, collapse" % level in text
        assert re.search(r"%.2f times(, BEFORE it)?; %.2f times" % (proof, collapse), text), (proof, collapse)
    else:
        assert "no level is held for this body mass" in text
    assert ("SHUT" in text) == any(not g["open"] for g in strength["gates"])
    if "SHUT" in text:
        assert "Not every limit is known and open" in text
    length = ask("length", EXAMPLES / "child.json")
    traveller = " ".join(text_of(made(folder, EXAMPLES / "child.json", "t.pdf", "--kind", "traveller")[0]).split())
    assert "%.1f mm; %.1f mm" % (length["cut_below_knee_level_mm"], length["cut_height_mm"]) in traveller


@case
def one_page_of_many_as_picture_and_what_is_refused(folder):
    svg, _ = made(folder, EXAMPLES / "adult.json", "two.svg", "--page", "2")
    assert 'width="210mm"' in pathlib.Path(svg).read_text()[:2000]
    one, _ = made(folder, EXAMPLES / "adult.json", "one.png", "--page", "1")
    assert pathlib.Path(one).read_bytes()[:4] == b"\x89PNG"
    bad = os.path.join(folder, "no.svg")
    for words, code, part in ((["--page", "9"], 2, "no page 9"), (["--kind", "wrap", "--page", "4"], 2, "no page 4")):
        run = report(EXAMPLES / "adult.json", "-o", bad, *words)
        assert run.returncode == code and part in run.stderr and not os.path.exists(bad), run.stderr
    words = copy.deepcopy(WORDS)
    words["shop"]["phone"] = "1"
    words["record_sha256"] = "ab"
    run = report(EXAMPLES / "adult.json", "-o", bad, "--words", saved(folder, words, "bad.json"))
    assert run.returncode == 3 and "shop.phone" in run.stderr and "record_sha256" in run.stderr and not os.path.exists(bad), run.stderr
    bare = saved(folder, {"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 70}}, "bare.json")
    run = report(bare, "-o", bad, "--kind", "wrap")
    assert run.returncode == 3 and "pylon.cut_height_mm" in run.stderr and not os.path.exists(bad), run.stderr
    run = report(EXAMPLES / "adult.json", "-o", os.path.join(folder, "x.docx"))
    assert run.returncode == 2 and ".pdf" in run.stderr
    assert report(EXAMPLES / "adult.json").returncode == 2
    for kind in ("release", "traveller", "care"):  # a bare document still gives its paper, with lines to write on
        out, _ = made(folder, bare, "bare.pdf", "--kind", kind)
        assert kind == "care" or "not computed" in text_of(out) or "not known" in text_of(out)


def mutated(document):
    """Copies of a document with one place changed or gone, or one field too many."""
    values = [None, True, 1, -1, 2.5, "", "x", "done", "y" * 5000, [], {}, {"z": 1}, [1], [{}]]

    def places(value, where=()):
        yield where
        items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, inner in items:
            yield from places(inner, where + (key,))

    for where in list(places(document)):
        for value in values + ["GONE", "MORE"]:
            changed = copy.deepcopy(document)
            place = changed
            for key in where[:-1]:
                place = place[key]
            target = place[where[-1]] if where else changed
            if value == "MORE" and isinstance(target, dict):
                target["surely_not_a_field"] = 1
            elif not where or value == "MORE":
                continue
            elif value == "GONE":
                del place[where[-1]]
            else:
                place[where[-1]] = value
            yield where, value, changed


def inlined(node):
    """The schema with every reference into another file put in its place."""
    if isinstance(node, dict):
        if "$ref" in node:
            file, pointer = node["$ref"].split("#")
            spot = json.loads((ROOT / "docs" / file).read_text())
            for step in pointer.strip("/").split("/"):
                spot = spot[step]
            return inlined(spot)
        return {k: inlined(v) for k, v in node.items()}
    return [inlined(v) for v in node] if isinstance(node, list) else node


@case
def schema_and_reader_take_and_refuse_the_same_words_and_lists(folder):
    limb = saved(folder, {"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 70}, "shoe": {"heel_mm": 20}, "pylon": {"top_height_mm": 290}}, "bare.json")
    short = copy.deepcopy(WORDS)
    short["shop"]["statement"] = "Invented."
    short["checks"] = short["checks"][:1]
    parts = json.loads((ROOT / "data" / "parts.json").read_text())
    few = {**parts, "feet": parts["feet"][:1], "adapters": [{"name": "a", "adapter": {"depth_mm": 30, "build_height_mm": 12, "motions": [{"setting": "toe_out_deg", "range": [-20, 20]}]}}]}
    count, wrong = 0, []
    for name, document, words in (("report-words", short, ["report", limb, "--kind", "care", "-o", os.path.join(folder, "x.svg"), "--words"]),
                                  ("parts-list", few, ["parts", limb, "--parts"])):
        validator = jsonschema.Draft202012Validator(inlined(json.loads((ROOT / "docs" / (name + ".schema.json")).read_text())))
        changes = list(mutated(document))
        for where, value, changed in changes if LONG else changes[::13]:
            run = subprocess.run([STANDFAST, *words, saved(folder, changed, "m.json")], capture_output=True, text=True, timeout=60)
            assert run.returncode in (0, 3), (where, value, run.stderr)
            count += 1
            if (run.returncode == 0) != validator.is_valid(changed):
                wrong.append((name, where, str(value)[:20], run.stderr[:120]))
    print("# %d changed documents" % count)
    assert not wrong, (len(wrong), wrong[:6])


failed = 0
print("1..%d" % len(cases))
for number, run in enumerate(cases, 1):
    with tempfile.TemporaryDirectory() as place:
        try:
            run(place)
            print("ok %d - %s" % (number, run.__name__))
        except Exception as problem:  # a failed assertion or a program that is not there
            failed += 1
            print("not ok %d - %s" % (number, run.__name__))
            print("# %s: %s" % (type(problem).__name__, str(problem).replace("\n", " ")[:600]))
sys.exit(failed > 0)
