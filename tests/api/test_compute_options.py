#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a command takes, its computation takes: every option of --help is found in GET /api/compute or in the request, and
gives what the command gives."""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
from api_client import PROGRAM, ROOT, Cases, Server, command, example, is_error, same

cases = Cases()
case = cases.case
# Options that are no option over HTTP, and where they are then: a file that is read stands in the request, a file that is
# written is an answer.
ELSEWHERE = {
    "ring": {"caliper": "caliper_csv", "calibration": "calibration", "limb": "document", "squeeze": "squeeze", "limits": "limits",
             "outline": "computation outline", "picture": "drawing", "calibrate": "computation calibrate",
             "gauge_mm": "computation calibrate", "o": "computation calibrate"},
    "section": {}, "form": {}, "squeeze": {"limits": "limits"}, "length": {}, "vent": {}, "mass": {},
    "align": {"picture": "drawing"}, "growth": {"picture": "drawing"}, "fasten": {"picture": "drawing"},
    "steps": {"picture": "drawing"}, "limb": {"picture": "drawing"}, "parts": {"parts": "parts"},
    "strength": {"picture": "drawing", "compare": "computation compare", "solid": "not there yet, in the command neither"},
    "advise": {"signs": "computation signs", "picture": "drawing", "limb": "document"},
}


SCENE = {"outer_diameter_mm": 47, "wall_mm": 5.6, "seam_deg": 274, "groove_mm": 0.35, "groove_width_mm": 1.2, "dpi": 300,
         "width_mm": 62, "height_mm": 62, "centre_x_mm": 31, "centre_y_mm": 31, "noise": 0.01}  # invented


def draw_rings(folder):
    scenes = [dict(SCENE, name="sound", seed=1), dict(SCENE, name="again", seed=2, centre_x_mm=30.6, oval_mm=0.05),
              {"name": "gauge", "outer_diameter_mm": 50, "wall_mm": 3.6, "dpi": 300, "width_mm": 62, "height_mm": 62,
               "centre_x_mm": 31, "centre_y_mm": 31.2, "noise": 0.005, "body": "disc", "stretch_x": 1.004}]
    pathlib.Path(folder, "scenes.json").write_text(json.dumps({"scenes": scenes}))
    subprocess.run([os.environ.get("MAKE_RINGS", str(ROOT / "build/tools/make_rings/make_rings")), folder + "/scenes.json", folder],
                   check=True, capture_output=True)
    return {s["name"]: pathlib.Path(folder, s["name"] + ".png").read_bytes() for s in scenes}


def options_of(name):
    text = subprocess.run([PROGRAM, name, "--help"], capture_output=True, text=True).stdout
    return {found.replace("-", "_") for found in re.findall(r"^  --?([a-z-]+) ", text, re.M)} - {"json"}


def parity(client):
    table = {c["name"]: {o["name"] for o in c["options"]} for c in client.get("/api/compute")["computations"]}
    for name, elsewhere in ELSEWHERE.items():
        there = options_of(name)
        case("%s over HTTP takes what the command takes" % name, name in table and there - set(elsewhere) <= table[name] and
             set(elsewhere) <= there, (sorted(there - set(elsewhere) - table.get(name, set())), sorted(set(elsewhere) - there)))
    case("a computation elsewhere is there", all(word.split()[-1] in table for name in ELSEWHERE.values()
                                                  for word in name.values() if word.startswith("computation ")))


def ask(client, folder, name, body, arguments, files=None, what=""):
    """The same over HTTP and at the command line; files: name -> document or bytes."""
    for file, content in (files or {}).items():
        path = pathlib.Path(folder, file)
        path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
    line = [str(pathlib.Path(folder, a)) if re.search(r"\.(json|png)$", a) else a for a in arguments]
    wanted = command(name, *line)
    got = client.post("/api/compute/" + name, body)
    differs = "no result" if got.status != 200 or not wanted else same(got.json, wanted)
    case("%s %s is that of the command" % (name, what), differs is None, (differs, str(got)[:600]))
    return got


def strength(client, folder):
    child = example("child")
    late = ask(client, folder, "strength", {"document": child, "options": {"as_of": "2026-03-01", "months": 9, "samples": 0}},
               ["limb.json", "--as-of", "2026-03-01", "--months", "9", "--samples", "0"], {"limb.json": child}, "of a child with a day and an interval")
    soon = client.post("/api/compute/strength", {"document": child, "options": {"as_of": "2026-03-01", "samples": 0}})
    case("and the interval counts", late["at_interval_end"] and late["at_interval_end"] != soon["at_interval_end"], soon["at_interval_end"])
    adult = example("adult")
    for options, line in (({"level": "P3-scaled", "samples": 400, "seed": 5}, ["--level", "P3-scaled", "--samples", "400", "--seed", "5"]),
                          ({"first_order": True, "prismatic": True, "samples": 0}, ["--first-order", "--prismatic", "--samples", "0"]),
                          ({"iso_axis": True, "material": "pp-homopolymer", "samples": 0}, ["--iso-axis", "--material", "pp-homopolymer", "--samples", "0"]),
                          ({"temperature_c": 40, "samples": 0}, ["--temperature-c", "40", "--samples", "0"])):
        whose = dict(child if "level" in options else adult)
        ask(client, folder, "strength", {"document": whose, "options": options}, ["limb.json", *line], {"limb.json": whose}, " ".join(line))
    for options, field in (({"months": 2.5}, "options.months"), ({"samples": 10.5}, "options.samples"), ({"seed": 1.5}, "options.seed"),
                           ({"months": 500}, "options.months"), ({"as_of": "yesterday"}, None)):
        got = client.post("/api/compute/strength", {"document": child, "options": options})
        case("a wrong option is named (%s)" % options, is_error(got, 422, field), got)


def tables(client, folder):
    adult, own = example("adult"), json.loads((ROOT / "data/parts.json").read_text())
    for order in ("factor", "mass"):
        ask(client, folder, "parts", {"document": adult, "options": {"order": order}}, ["limb.json", "--order", order],
            {"limb.json": adult}, "ordered by " + order)
    own["feet"] = own["feet"][:1]
    ask(client, folder, "parts", {"document": adult, "parts": own}, ["limb.json", "--parts", "parts.json"],
        {"limb.json": adult, "parts.json": own}, "of the shop's own list")
    pressed = {"ring": {"outer_diameter_mm": 50, "inner_diameter_mm": 38}, "axial_length_mm": 20, "load_n": 150,
               "closing_mm": 0.74, "loading_time_s": 60, "seam_to_load_deg": 0}
    limits = json.loads((ROOT / "data/ring_limits.json").read_text())
    limits["squeeze"]["seam_stress_mpa"] = 1.5 * limits["squeeze"]["seam_stress_mpa"]
    ask(client, folder, "squeeze", {"squeeze": pressed, "limits": limits}, ["squeeze.json", "--limits", "limits.json"],
        {"squeeze.json": pressed, "limits.json": limits}, "with the shop's own limits")
    wrong = client.post("/api/compute/squeeze", {"squeeze": pressed, "limits": {"format": "standfast-ring-limits/1", "hat": 1}})
    case("limits that are none are named", is_error(wrong, 422) and "limits" in wrong.body, wrong)
    metric = client.post("/api/compute/growth/drawing", {"document": example("child")})
    inch = client.post("/api/compute/growth/drawing", {"document": example("child"), "options": {"units": "inch"}})
    case("drawings take the units", metric.status == inch.status == 200 and metric.body != inch.body and b"in" in inch.body)


def rings(client, folder):
    pictures = draw_rings(folder)
    made = client.post("/api/limbs", {"document": example("adult")})
    put = {name: client.ask("POST", "/api/limbs/%d/pictures" % made["id"], data, Content_Type="image/png")["picture"]
           for name, data in pictures.items()}
    document = example("adult")
    beside = ["--posterior-deg", "280", "--user", "adult"]
    options = {"posterior_deg": 280, "user": "adult"}
    with_limb = ask(client, folder, "ring", {"picture": put["sound"], "document": document, "options": options},
                    ["sound.png", "--limb", "limb.json", *beside], {"limb.json": document}, "with a limb")
    case("and knows its strength", with_limb["strength"] and with_limb["decision_basis"] == "shop-limits+strength", with_limb["strength"])
    stored = client.post("/api/compute/ring", {"picture": put["sound"], "limb": made["id"], "options": options})
    case("a stored limb does as well", stored.status == 200 and stored["strength"] == with_limb["strength"], stored)
    scale = {"format": "standfast-scanner/1", "factor_x": 1.004, "factor_y": 0.998, "scale_sd": 0.0004}
    ask(client, folder, "ring", {"picture": put["sound"], "calibration": scale, "options": options},
        ["sound.png", "--calibration", "scanner.json", *beside], {"scanner.json": scale}, "with a calibration")
    limits = json.loads((ROOT / "data/ring_limits.json").read_text())
    limits["groove"]["accept_percent"] = 0.5
    ask(client, folder, "ring", {"picture": put["sound"], "limits": limits, "options": options},
        ["sound.png", "--limits", "limits.json", *beside], {"limits.json": limits}, "with the shop's limits")
    twice = ask(client, folder, "ring", {"pictures": [put["sound"], put["again"]], "options": options},
                ["sound.png", "again.png", *beside], None, "from repeat scans")
    case("and says how well they repeat", twice["repeatability"]["area_mm2"] > 0, twice["repeatability"])
    pressed = {"ring": {"image": put["sound"], "posterior_deg": 280}, "axial_length_mm": 20, "load_n": 150, "closing_mm": 0.9,
               "loading_time_s": 60, "seam_to_load_deg": 0, "outcome": "held"}
    typed = dict(pressed, ring={"image": "sound.png", "posterior_deg": 280})
    got = client.post("/api/compute/ring", {"picture": put["sound"], "squeeze": pressed, "options": options})
    pathlib.Path(folder, "squeeze.json").write_text(json.dumps(typed))
    wanted = command("ring", folder + "/sound.png", "--squeeze", folder + "/squeeze.json", *beside)
    case("ring with its squeeze is that of the command", wanted and got.status == 200 and same(got.json, wanted) is None and
         "squeeze" in got["evidence"], (got, wanted and got.status == 200 and same(got.json, wanted)))
    for body, field in (({"pictures": []}, "pictures"), ({"pictures": ["x"]}, "pictures"), ({"pictures": "x"}, "pictures"),
                        ({"picture": put["sound"], "calibration": {"format": "standfast-scanner/1"}}, None),
                        ({"picture": put["sound"], "squeeze": {"ring": {"image": "/etc/hostname"}}}, None),
                        ({"picture": put["sound"], "document": {"format": "standfast-limb/1"}}, None)):
        refused = client.post("/api/compute/ring", body)
        case("a ring refuses %s" % str(body)[:60], is_error(refused, 422, field), refused)
    gauge = client.post("/api/compute/calibrate", {"picture": put["gauge"], "options": {"gauge_mm": 50}})
    made_file = folder + "/cal.json"
    wanted = command("ring", folder + "/gauge.png", "--calibrate", "--gauge-mm", "50", "-o", made_file)
    case("a gauge gives the calibration of the command", gauge.status == 200 and wanted and same(gauge.json, wanted) is None, (gauge, wanted))
    case("and says what it needs", is_error(client.post("/api/compute/calibrate", {"picture": put["gauge"]}), 422, "options.gauge_mm") and
         is_error(client.post("/api/compute/calibrate", {"options": {"gauge_mm": 50}}), 422, "picture"))


with tempfile.TemporaryDirectory() as folder, Server() as running:
    technician = running.staff(running.first_admin())["technician"]
    parity(technician)
    strength(technician, folder)
    tables(technician, folder)
    rings(technician, folder)
cases.end()
