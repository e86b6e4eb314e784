#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Said and seen: each kind of prediction through the record, come true and not, and nothing from what was withdrawn."""
import sys

sys.dont_write_bytecode = True
from api_client import ROOT, Cases, Server, example, is_error

cases = Cases()
case = cases.case
SOUND = ROOT / "tests/data/known_rings/sound.png"


def limb_of(client, name, label, **pylon):
    made = example(name)
    made["person"]["label"] = label
    made["pylon"].update(rings=[], **pylon)
    answer = client.post("/api/limbs", {"document": made})
    assert answer.status == 201, answer
    return answer["id"]


def tell(client, limb, kind, **body):
    answer = client.post("/api/limbs/%d/facts" % limb, {"kind": kind, "body": body})
    assert answer.status == 201, answer
    return answer["fact"]["id"]


def said(client, limb, kind):
    return [row for row in client.get("/api/limbs/%d/said" % limb)["rows"] if row["kind"] == kind]


def walls(client):
    for wall, true in ((5.6, True), (7.5, False)):
        limb = limb_of(client, "adult", "invented wall %g" % wall, expected_wall_mm=wall)
        waiting = said(client, limb, "wall")
        case("a wall of %g mm waits for its ring" % wall, len(waiting) == 1 and waiting[0]["came_true"] is None and
             waiting[0]["said"] == wall, waiting)
        base = "/api/limbs/%d" % limb
        put = client.ask("POST", base + "/pictures", SOUND.read_bytes(), Content_Type="image/png")
        ring = client.post(base + "/rings", {"picture": put["picture"], "user": "adult", "height_mm": 110})
        client.ask("PUT", base + "/rings/0", {"posterior_deg": 250, "face": "limb-side"})
        rows = said(client, limb, "wall")
        case("then the ring answers, once however often it was measured (%g mm)" % wall, len(rows) == 1 and
             abs(rows[0]["seen"] - ring["result"]["wall_median_mm"]) < 1e-6 and rows[0]["came_true"] is true, rows)
    # What was expected then counts, not what somebody writes later.
    got = client.get(base)
    document = got["document"]
    document["pylon"]["expected_wall_mm"] = 5.5
    client.ask("PUT", base, {"document": document}, If_Match=str(got["version"]))
    rows = said(client, limb, "wall")
    case("a wall that is written later changes nothing of what was said", rows[0]["said"] == 7.5 and rows[0]["came_true"] is False, rows)


def walk(client, limb, forward, seen):
    return tell(client, limb, "walk", support="bars", skin="clear", settings={"foot_forward_mm": forward},
                observations=[{"sign": sign, "strength": strength} for sign, strength in seen])


def signs(client, licensed):
    limb = limb_of(client, "adult", "invented signs")
    walk(client, limb, 0, [("drop-off", 1), ("lateral-thrust", 2)])
    walk(client, limb, 0, [("lateral-thrust", 2)])
    case("walking twice with nothing changed says nothing", said(client, limb, "sign") == [])
    walk(client, limb, 4, [("lateral-thrust", 1)])
    rows = said(client, limb, "sign")
    case("the strongest sign is expected to go, and went", len(rows) == 1 and rows[0]["came_true"] is True and
         "lateral-thrust" in rows[0]["what"] and "+4 mm" in rows[0]["what"] and rows[0]["seen_words"] == "slight", rows)
    last = walk(client, limb, 6, [("lateral-thrust", 3)])
    rows = said(client, limb, "sign")
    case("or it did not", len(rows) == 2 and rows[1]["came_true"] is False and rows[1]["seen_words"] == "strong", rows)
    gone = licensed.post("/api/limbs/%d/facts" % limb, {"kind": "withdrawal", "body": {"fact": last, "reason": "invented"}})
    case("a walk that was taken back says nothing", gone.status == 201 and len(said(client, limb, "sign")) == 1, gone)


def toe_out_and_mass(client, licensed):
    for out, true in ((7.5, True), (11, False)):
        limb = limb_of(client, "adult", "invented toe-out %g" % out)
        tell(licensed, limb, "settled", toe_out_deg=7)
        case("toe-out waits for the check-out (%g)" % out, said(client, limb, "toe-out")[0]["came_true"] is None)
        tell(licensed, limb, "check-out", toe_out_deg=out, walked=True, sat=True, donned_doffed=True, minutes=15, skin="clear")
        rows = said(client, limb, "toe-out")
        case("and is kept or not (%g)" % out, rows[0]["seen"] == out and rows[0]["came_true"] is true, rows)
    limb = limb_of(client, "adult", "invented mass")
    computed = client.post("/api/compute/mass", {"limb": limb, "options": {}})["limb"]["mass_kg"] * 1000
    tell(client, limb, "finish", mass_g=round(computed))
    rows = said(client, limb, "mass")
    case("a mass as computed came true", len(rows) == 1 and rows[0]["came_true"] is True and abs(rows[0]["said"] - computed) < 1, rows)
    tell(client, limb, "finish", mass_g=round(computed * 1.3))
    rows = said(client, limb, "mass")
    case("a third more did not", len(rows) == 1 and rows[0]["came_true"] is False, rows)


def lengths(client):
    limb = limb_of(client, "child", "invented child")
    rows = said(client, limb, "length")
    case("a child's second reading answers the forecast from the first", len(rows) == 1 and rows[0]["seen"] == 366 and
         rows[0]["said_at"] == "2025-01-12" and rows[0]["low"] < rows[0]["said"] < rows[0]["high"], rows)
    document = client.get("/api/limbs/%d" % limb)["document"]
    document["person"]["knee_height_history"] = document["person"]["knee_height_history"][:1]
    document["person"]["stature_history"] = document["person"]["stature_history"][:2]
    document["person"].pop("levelling_block_history")
    document["person"].pop("prosthesis_set_date")
    before = client.post("/api/compute/growth", {"document": document, "options": {"as_of": "2025-01-12", "months": 12}})
    told = before["forecast"][11]
    case("which is what growth said on that day", abs(told["knee_height_mm"] - rows[0]["said"]) < 0.3 and
         abs(told["knee_height_interval_mm"][0] - rows[0]["low"]) < 0.3, (told, rows))
    tell(client, limb, "growth-reading", date="2026-07-04", knee_height_mm=410, landmark="medial-tibial-plateau")
    rows = said(client, limb, "length")
    case("a reading far off did not come true", len(rows) == 2 and rows[1]["seen"] == 410 and rows[1]["came_true"] is False, rows)


with Server() as running:
    staff = running.staff(running.first_admin())
    technician, licensed = staff["technician"], staff["prosthetist"]
    walls(technician)
    signs(technician, licensed)
    toe_out_and_mass(technician, licensed)
    lengths(technician)
    shop = staff["reader"].get("/api/said")
    counts = {one["kind"]: (one["came_true"], one["did_not"], one["waiting"]) for one in shop["counts"]}
    case("the shop counts them all", counts["wall"][:2] == (1, 1) and counts["sign"] == (1, 0, 0) and counts["toe-out"] == (1, 1, 0) and
         counts["mass"] == (0, 1, 0) and counts["length"] == (0, 1, 0), counts)
    drawn = staff["reader"].get("/api/said/walls.svg")
    case("its walls are drawn", drawn.status == 200 and drawn.body[:200].find(b"<svg") >= 0, drawn)
    case("a limb that is not there", is_error(staff["reader"].get("/api/limbs/999/said"), 404))
    case("too many are not asked for at once", is_error(staff["reader"].get("/api/said?count=100000"), 422) or
         is_error(staff["reader"].get("/api/said?count=100000"), 400))
cases.end()
