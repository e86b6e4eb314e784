#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The squeeze of a ring in the record: the proof and the decision are those of the commands on the same picture, limb and
loads; a broken seam rejects the ring; what proves nothing is not written down; a proof stays evidence until withdrawn."""
import json
import os
import pathlib
import sys
import tempfile

sys.dont_write_bytecode = True
from api_client import ROOT, Cases, Server, command, example, is_error

cases = Cases()
case = cases.case
PICTURE = ROOT / "tests/data/known_rings/unjoined.png"  # invented; a line of known depth in its seam
SOUND = ROOT / "tests/data/known_rings/sound.png"
PRESS = {"axial_length_mm": 18, "load_n": 420, "seam_to_load_deg": 0, "outcome": "held", "closing_mm": 1.1}


def fresh(client, label, picture, side="left"):
    made = example("adult")
    made["person"].update(side=side, label=label)
    made["pylon"].pop("rings", None)
    limb = client.post("/api/limbs", {"document": made})
    base = "/api/limbs/%d" % limb["id"]
    put = client.ask("POST", base + "/pictures", picture.read_bytes(), Content_Type="image/png")
    ring = client.post(base + "/rings", {"picture": put["picture"], "user": "adult"})
    case("%s: measured" % label, ring.status == 201 and ring["result"]["evidence"] == "picture", ring)
    return limb["document"], base, ring


def by_command(folder, document, picture, press):
    limb, squeeze = pathlib.Path(folder, "limb.json"), pathlib.Path(folder, "squeeze.json")
    limb.write_text(json.dumps(document))
    material = {"material": document["pylon"]["material"]} if "material" in document["pylon"] else {}
    squeeze.write_text(json.dumps(dict(material, **press, ring={"image": str(picture)})))
    return (command("ring", str(picture), "--user", "adult", "--limb", str(limb), "--squeeze", str(squeeze)),
            command("squeeze", str(squeeze)))


def same(one, other, keys):
    return all(one[key] == other[key] or abs(one[key] - other[key]) <= 1e-6 * abs(other[key]) for key in keys)


def reasons(result):
    return [(reason["code"], reason["decision"], reason["text"]) for reason in result["reasons"]]


def proved(client, folder, side):
    document, base, before = fresh(client, "invented proof %s" % side, SOUND, side)
    answer = client.post(base + "/rings/0/squeeze", {"squeeze": PRESS})
    case("the proof is taken (%s)" % side, answer.status == 201 and answer["ring"] == 1, answer)
    ring, squeeze = by_command(folder, document, SOUND, PRESS)
    case("its stress is the command's (%s)" % side, same(answer["squeeze"], squeeze, (
        "seam_stress_mpa", "proof_load_n", "modulus_mpa", "passed", "words", "proves_inner_edge", "proves_whole_wall")), squeeze)
    case("and so are decision and reasons with the limb's strength (%s)" % side, reasons(answer["result"]) == reasons(ring) and
         answer["result"]["decision"] == ring["decision"] and answer["result"]["evidence"] == ring["evidence"] ==
         "picture+squeeze" and answer["result"]["decision_basis"] == ring["decision_basis"] == "shop-limits+strength" and
         same(answer["result"]["strength"], ring["strength"], ("proof_factor", "walking_factor")),
         (reasons(answer["result"]), reasons(ring)))
    facts = client.get(base)["facts"]
    kinds = [fact["kind"] for fact in facts]
    told = facts[-2]["body"]
    case("proof and ring are written down, loads and all (%s)" % side, kinds[-2:] == ["squeeze-proof", "ring"] and
         told["passed"] is True and told["load_n"] == 420 and told["seam"] == "under-load-line" and
         told["squeeze"]["closing_mm"] == 1.1 and told["ring_number"] == facts[-1]["body"]["ring_number"] == "R1", told)
    return base, answer, told, facts[-2]["id"]


def kept(client, licensed, base, fact):
    marked = client.ask("PUT", base + "/rings/1", {"posterior_deg": 250, "face": "limb-side"})
    case("pen marks tapped later keep the proof as evidence", marked.status == 201 and
         marked["result"]["evidence"] == "picture+squeeze" and
         any(reason["code"] == "squeeze-proof" for reason in marked["result"]["reasons"]), marked)
    sheet = client.get(base + "/rings/2/sheet.svg")
    case("the sheet is drawn with it", sheet.status == 200 and b"<svg" in sheet.body, sheet.status)
    gone = licensed.post(base + "/facts", {"kind": "withdrawal", "body": {"fact": fact, "reason": "invented: another ring"}})
    again = client.ask("PUT", base + "/rings/2", {"posterior_deg": 251, "face": "limb-side"})
    case("a withdrawn proof is no evidence", gone.status == 201 and again.status == 201 and
         again["result"]["evidence"] == "picture", (gone, again["result"]["evidence"]))


def broken(client):
    document, base, before = fresh(client, "invented broken", SOUND)
    case("the ring was not rejected before", before["result"]["decision"] != "reject", before["result"]["decision"])
    for outcome in ("whitened", "cracked"):
        answer = client.post(base + "/rings/0/squeeze", {"squeeze": dict(PRESS, outcome=outcome)})
        case("a seam that %s rejects it" % outcome, answer.status == 201 and answer["result"]["decision"] == "reject" and
             answer["state"]["fit_to_load"] is False, answer)
    answer = client.post(base + "/rings/0/squeeze", {"squeeze": PRESS})
    case("a press that held afterwards does not take that away", answer.status == 201 and
         answer["result"]["decision"] == "reject", answer)


def refused(client, reader):
    document, base, before = fresh(client, "invented refused", PICTURE)
    count = len(client.get(base)["facts"])
    low = client.post(base + "/rings/0/squeeze", {"squeeze": dict(PRESS, load_n=3)})
    case("a load that proves nothing is refused with what would", is_error(low, 422) and " N" in low["error"]["what"], low)
    for what, squeeze in (("outcome", {k: v for k, v in PRESS.items() if k != "outcome"}),
                          ("load_n", {k: v for k, v in PRESS.items() if k != "load_n"}),
                          ("axial_length_mm", {k: v for k, v in PRESS.items() if k != "axial_length_mm"}),
                          ("ring", dict(PRESS, ring={"image": "elsewhere.png"})),
                          ("outcome", dict(PRESS, outcome="fine")),
                          ("closing_mm", dict(PRESS, closing_mm=-1)),
                          ("second", dict(PRESS, second={"seam_to_load_deg": 90})),
                          ("strange", dict(PRESS, strange=1))):
        answer = client.post(base + "/rings/0/squeeze", {"squeeze": squeeze})
        case("%s: refused by its name" % what, is_error(answer, 422) and what in answer.body.decode()
             if isinstance(answer.body, bytes) else what in str(answer.body), answer)
    case("no squeeze at all", is_error(client.post(base + "/rings/0/squeeze", {}), 422))
    case("a ring that is not there", is_error(client.post(base + "/rings/7/squeeze", {"squeeze": PRESS}), 404))
    case("a reader presses nothing", reader.post(base + "/rings/0/squeeze", {"squeeze": PRESS}).status == 403)
    case("nothing of it is written down", len(client.get(base)["facts"]) == count)


def by_request(client, base):
    facts = client.get(base)["facts"]
    picture = facts[0]["body"]["picture"]
    limb = int(base.rsplit("/", 1)[1])
    got = client.post("/api/compute/ring", {"picture": picture, "limb": limb, "squeeze": PRESS, "options": {"user": "adult"}})
    case("compute/ring takes limb and squeeze as the command does", got.status == 200 and got["evidence"] == "picture+squeeze" and
         got["strength"]["proof_factor"] > 0, got)


def lacking(client):
    made = example("adult")
    made["person"]["label"] = "invented card"
    made["pylon"].update(material="invented-card", rings=[])
    base = "/api/limbs/%d" % client.post("/api/limbs", {"document": made})["id"]
    put = client.ask("POST", base + "/pictures", SOUND.read_bytes(), Content_Type="image/png")
    ring = client.post(base + "/rings", {"picture": put["picture"], "user": "adult"})
    case("a limb that strength cannot be computed of is noted, and the ring judged without", ring.status == 201 and
         ring["result"]["strength"] is None and ring["result"]["decision_basis"] == "shop-limits" and
         any("strength" in note and "invented-card" in note for note in ring["result"]["notes"]), ring)
    sheet = client.get(base + "/rings/0/sheet.svg")
    case("and drawn", sheet.status == 200 and b"<svg" in sheet.body, sheet)


def caliper(client):
    made = example("adult")
    made["person"]["label"] = "invented caliper"
    base = "/api/limbs/%d" % client.post("/api/limbs", {"document": made})["id"]
    table = "angle_deg,outer_mm,wall_mm\n" + "".join("%d,25,%g\n" % (a, 6 if a != 270 else 5.2) for a in range(0, 360, 30))
    ring = client.post(base + "/rings", {"caliper_csv": table, "user": "adult", "seam_deg": 270, "height_mm": 110})
    answer = client.post(base + "/rings/0/squeeze", {"squeeze": PRESS})
    case("a ring read by caliper is proved as well", ring.status == 201 and answer.status == 201 and
         answer["squeeze"]["proves_inner_edge"] is True and answer["result"]["evidence"] == "caliper+squeeze", (ring, answer))


with tempfile.TemporaryDirectory() as folder, Server() as running:
    staff = running.staff(running.first_admin())
    technician = staff["technician"]
    base, _, _, fact = proved(technician, folder, "left")
    proved(technician, folder, "right")
    by_request(technician, base)
    kept(technician, staff["prosthetist"], base, fact)
    broken(technician)
    refused(technician, staff["reader"])
    caliper(technician)
    lacking(technician)
cases.end()
