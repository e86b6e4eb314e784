#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The ring board: each ring once, as it was measured last, at one scale; drawn rings are as large as they were measured."""
import re
import sys
import xml.etree.ElementTree as tree

sys.dont_write_bytecode = True
from api_client import ROOT, Cases, Server, example, is_error

cases = Cases()
case = cases.case
RINGS = ROOT / "tests/data/known_rings"
SVG = "{http://www.w3.org/2000/svg}"


def limb_of(client, label):
    made = example("adult")
    made["person"]["label"] = label
    made["pylon"]["rings"] = []
    return client.post("/api/limbs", {"document": made})["id"]


def measure(client, limb, name, **more):
    base = "/api/limbs/%d" % limb
    put = client.ask("POST", base + "/pictures", (RINGS / name).read_bytes(), Content_Type="image/png")
    answer = client.post(base + "/rings", dict({"picture": put["picture"], "user": "adult"}, **more))
    assert answer.status == 201, answer
    return answer


def outlines(svg):
    """Widths of the outer edges (the heavy line), in mm of the paper."""
    found = []
    for path in tree.fromstring(svg).iter(SVG + "path"):
        if "stroke-width:0.45;" in path.get("style", ""):
            xs = [float(number) for number in re.findall(r"-?\d+\.?\d*", path.get("d"))][0::2]
            found.append(max(xs) - min(xs))
    return sorted(found)


def bar(svg):
    """Length on the paper of the longest plain line of width 0.3: the bar that says 20 mm."""
    lengths = []
    for path in tree.fromstring(svg).iter(SVG + "path"):
        places = [float(number) for number in re.findall(r"-?\d+\.?\d*", path.get("d", ""))]
        if "stroke-width:0.3;" in path.get("style", "") and len(places) == 4:
            lengths.append(abs(places[2] - places[0]))
    return max(lengths)


with Server() as running:
    staff = running.staff(running.first_admin())
    client, reader = staff["technician"], staff["reader"]
    empty = reader.get("/api/rings")
    case("an empty shop has an empty board", empty.status == 200 and empty["rings"] == [], empty)
    blank = reader.get("/api/rings/board.svg")
    case("which is drawn all the same", blank.status == 200 and b"<svg" in blank.body, blank)
    one, other = limb_of(client, "invented one"), limb_of(client, "invented other")
    first = measure(client, one, "sound.png")
    second = measure(client, other, "unjoined.png")
    rings = reader.get("/api/rings")["rings"]
    case("last measured first, with decision and figures", [ring["label"] for ring in rings] == ["invented other", "invented one"] and
         rings[0]["decision"] == second["result"]["decision"] == "reject" and
         abs(rings[1]["wall_median_mm"] - first["result"]["wall_median_mm"]) < 1e-6 and all(ring["drawn"] for ring in rings), rings)
    client.ask("PUT", "/api/limbs/%d/rings/0" % one, {"posterior_deg": 250, "face": "limb-side"})
    rings = reader.get("/api/rings")["rings"]
    case("a ring measured once more stands there once", len(rings) == 2 and rings[0]["label"] == "invented one", rings)
    drawn = reader.get("/api/rings/board.svg")
    sizes, scale = outlines(drawn.body), bar(drawn.body) / 20
    wanted = sorted((answer["result"]["outer_diameter_mean_mm"], answer["result"]["ovality_percent"] / 100) for answer in (first, second))
    # The width across is the mean diameter but for the ovality (half of it either way) and the 0.02 mm of the outline kept.
    case("both are drawn at the scale of the bar", len(sizes) == 2 and all(abs(size / scale / true - 1) < 0.5 * oval + 0.002
                                                                          for size, (true, oval) in zip(sizes, wanted)),
         (sizes, scale, wanted))
    measure(client, one, "trough.png")
    own = reader.get("/api/limbs/%d/ring-board.svg" % one)
    both = reader.get("/api/rings?count=1")["rings"]
    case("a limb's own board has its rings only", own.status == 200 and len(outlines(own.body)) == 2 and
         len(outlines(reader.get("/api/rings/board.svg").body)) == 3, own.status)
    case("as many as are asked for", len(both) == 1 and both[0]["ring_number"] == "R2", both)
    case("a limb that is not there", is_error(reader.get("/api/limbs/999/ring-board.svg"), 404))
    case("too many at once", reader.get("/api/rings?count=5000").status in (400, 422))
    fact = client.get("/api/limbs/%d" % other)["facts"][0]["id"]
    gone = staff["prosthetist"].post("/api/limbs/%d/facts" % other, {"kind": "withdrawal", "body": {"fact": fact, "reason": "invented"}})
    case("a ring that was taken back is not on it", gone.status == 201 and
         all(ring["label"] != "invented other" for ring in reader.get("/api/rings")["rings"]), gone)
    for wearer, limb in ((client.get("/api/limbs/%d" % one)["wearer"], one),):
        removed = staff["admin"].post("/api/wearers/%d/remove" % wearer, {"confirm": "remove"})
        rings = reader.get("/api/rings")
        case("a removed wearer's rings stay without the label", removed.status == 200 and rings.status == 200 and
             all(ring["label"] is None for ring in rings["rings"] if ring["limb"] == limb), rings)
        case("and can be drawn", reader.get("/api/rings/board.svg").status == 200)
cases.end()
