#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Questions from the edge: what was removed stays removed, days that are none, decisions about nothing."""
import sys

sys.dont_write_bytecode = True
from api_client import Cases, Server, example, is_error

cases = Cases()
case = cases.case


def fresh(client, label, **more):
    document = example("adult")
    document["person"]["label"] = label
    return client.post("/api/limbs", dict({"document": document}, **more)).json


def removed_stays_removed(clients):
    admin, prosthetist, technician = clients["admin"], clients["prosthetist"], clients["technician"]
    limb = fresh(technician, "Secretname one")
    path, other = "/api/limbs/%d" % limb["id"], fresh(technician, "stays")
    packed = prosthetist.get("/api/limbs/%d/export" % other["id"]).body
    done = admin.post("/api/wearers/%d/remove" % limb["wearer"], {"confirm": "remove"})
    case("a wearer's data goes", done.status == 200 and "Secretname" not in technician.get(path).body, done)
    back = technician.put(path, {"document": dict(example("adult"), person=dict(example("adult")["person"], label="Secretname two"))},
                          If_Match=str(technician.get(path)["version"]))
    case("and is not put in again by a save", is_error(back, 422, "document") and "removed" in back["error"]["what"], back)
    second = technician.post("/api/limbs", {"document": dict(limb["document"]), "wearer": limb["wearer"]})
    case("nor by another limb of this wearer", is_error(second, 422, "wearer"), second)
    brought = prosthetist.ask("POST", "/api/import?wearer=%d" % limb["wearer"], packed, Content_Type="application/x-tar")
    case("nor by an import", brought.status in (409, 422), brought)
    crack = technician.post(path + "/facts", {"kind": "crack", "body": {"where": "hole", "seen": "told by Secretname three"}})
    case("what happens is still written down", crack.status == 201 and crack["state"]["out_of_use"] is True, crack)
    again = admin.post("/api/wearers/%d/remove" % limb["wearer"], {"confirm": "remove"})
    seen = technician.get(path)
    case("and what was written since goes when it is asked again", again.status == 200 and "Secretname" not in seen.body and
         seen["state"]["out_of_use"] is True, (again, seen.body[:300]))
    case("the chain holds all the while", prosthetist.get("/api/verify")["holds"] is True)


def days(clients):
    reader = clients["reader"]
    fresh(clients["technician"], "invented day")
    for query in ("as_of=2026-13-40", "as_of=tomorrow", "as_of=2026-02-30"):
        got = reader.get("/api/shop?" + query)
        case("the shop does not look at a day that is none (%s)" % query, is_error(got, 422, "as_of"), got)
    for query in ("as_of=2026-11-25", "as_of=2026-11-25T10:00:00.000Z", "as_of=", ""):
        got = reader.get("/api/shop?" + query)
        case("it looks at one that is (%s)" % query, got.status == 200 and len(got["as_of"]) == 10, got)
    for query in ("due_until=soon", "due_until=2026-02-30"):
        got = reader.get("/api/limbs?" + query)
        case("the list is not due until a day that is none (%s)" % query, is_error(got, 422, "due_until"), got)
    case("but until one that is", reader.get("/api/limbs?due_until=2030-01-01").status == 200)
    wrong = clients["admin"].get("/api/verify?expect=1:00")
    case("a head that is none is named as it was asked", is_error(wrong, 422, "expect"), wrong)


def decisions(clients):
    technician, prosthetist = clients["technician"], clients["prosthetist"]
    limb = fresh(technician, "invented decision")["id"]
    other = fresh(technician, "invented other")["id"]
    early = technician.post("/api/limbs/%d/facts" % limb, {"kind": "permanent-fixing", "body": {"fixing": "pinch-band", "torque_nm": 5}})
    def decide(where, about, **more):
        return prosthetist.post("/api/limbs/%d/facts" % where, {"kind": "out-of-order-decision", "body": dict(
            {"about": about, "decision": "leave", "reason": "a band leaves no hole"}, **more)})
    for where, about in ((limb, 999999), (other, early["fact"]["id"])):
        got = decide(where, about)
        case("no decision about a fact that this limb does not have", got.status in (404, 422) and
             got["error"]["field"] == "body.about", got)
    case("one about a fact that it has", decide(limb, early["fact"]["id"]).status == 201)


def taken_back(clients):
    """A screw that was written down for the wrong limb leaves no hole in it."""
    technician, prosthetist = clients["technician"], clients["prosthetist"]
    document = example("adult")
    document["person"]["label"] = "invented screw"
    document["pylon"]["holes"] = [{"angle_deg": 235, "height_mm": 122, "diameter_mm": 6, "state": "old-hole"}]
    limb = technician.post("/api/limbs", {"document": document})["id"]
    path = "/api/limbs/%d" % limb
    def holes():
        return [(h["angle_deg"], h["state"]) for h in technician.get(path)["document"]["pylon"]["holes"]]
    def factor():
        return min(c["elastic_factor"] for c in technician.post("/api/compute/strength", {"limb": limb, "options": {"samples": 0}})["cases"])
    whole = factor()
    screws = technician.post(path + "/facts", {"kind": "permanent-fixing", "body": {"fixing": "through-screws", "torque_nm": 5, "holes": [
        {"angle_deg": 235, "height_mm": 122, "diameter_mm": 6}, {"angle_deg": 60, "height_mm": 130, "diameter_mm": 8}]}})
    case("two screws leave two holes, beside the old one", holes() == [(235, "old-hole"), (235, "fitted"), (60, "fitted")] and
         factor() < whole, holes())
    back = prosthetist.post(path + "/facts", {"kind": "withdrawal", "body": {"fact": screws["fact"]["id"], "reason": "that was another limb"}})
    case("withdrawn they leave none, and the old one stays", back.status == 201 and back["extended"] is True and
         holes() == [(235, "old-hole")] and factor() == whole, (back, holes()))
    note = technician.post(path + "/facts", {"kind": "note", "body": {"text": "nothing"}})
    gone = technician.post(path + "/facts", {"kind": "withdrawal", "body": {"fact": note["fact"]["id"], "reason": "nothing at all"}})
    case("a withdrawn note leaves the document alone", gone.status == 201 and gone["extended"] is False and holes() == [(235, "old-hole")], gone)
    before = technician.get(path)["document"]["person"].get("knee_height_history", [])
    reading = technician.post(path + "/facts", {"kind": "growth-reading", "body": {"date": "2026-02-01", "knee_height_mm": 471,
                                                                                  "landmark": "medial-tibial-plateau", "stature_mm": 1740}})
    added = technician.get(path)["document"]["person"]["knee_height_history"]
    technician.post(path + "/facts", {"kind": "withdrawal", "body": {"fact": reading["fact"]["id"], "reason": "read on another child"}})
    person = technician.get(path)["document"]["person"]
    case("so does a reading, with all that was read", len(added) == len(before) + 1 and person.get("knee_height_history", []) == before and
         not [r for r in person.get("stature_history", []) if r["date"] == "2026-02-01"], (added, person))


def blanks(clients):
    path = "/api/limbs/%d/facts" % fresh(clients["technician"], "invented blanks")["id"]
    for kind, body in (("note", {"text": "   "}), ("quarantine", {"reason": "\n\t "}), ("crack-judged", {"finding": "no-crack", "reason": " " * 40}),
                       ("quarantine-lifted", {"reason": "  ok      "})):
        got = clients["prosthetist"].post(path, {"kind": kind, "body": body})
        case("blanks are no words (%s)" % kind, got.status == 422 and got["error"]["field"].startswith("body."), got)


def named_as_sent(clients):
    """The field of an error is where it stands in the request, not in the command."""
    reader, bare = clients["reader"], {"format": "standfast-limb/1", "person": {"side": "right", "body_mass_kg": 60}}
    limb = fresh(clients["technician"], "invented names")["id"]
    for name, body, field in (
            ("strength", {"limb": limb, "options": {"level": "P9"}}, "options.level"),
            ("strength", {"limb": limb, "options": {"material": "glass"}}, "options.material"),
            ("strength", {"limb": limb, "options": {"as_of": "soon"}}, "options.as_of"),
            ("growth", {"limb": limb, "options": {"as_of": "2026-02-30"}}, "options.as_of"),
            ("growth", {"limb": limb, "options": {"warn_mm": 1}}, "options.remind_mm"),
            ("length", {"document": bare}, "document.shoe.heel_mm"), ("strength", {"document": bare}, "document.pylon.rings"),
            ("strength", {"limb": 987654}, "limb"), ("form", {"plan": {"format": "standfast-plan/1"}}, None),
            ("steps", {"csv": "time_s,side\n1,L\n0.5,R\n"}, "csv.time_s"), ("steps", {"csv": ""}, "csv"), ("section", {"outline_csv": "x"}, None),
            ("ring", {"caliper_csv": "angle_deg,outer_mm,wall_mm\n0,25,6\n", "options": {"user": "adult"}}, "caliper_csv")):
        got = reader.post("/api/compute/" + name, body)
        case("%s names the field as it was sent (%s)" % (name, field), is_error(got, 422, field), got)
    plan = reader.post("/api/compute/form", {"plan": {}})
    case("form within its plan", is_error(plan, 422) and plan["error"]["field"].startswith("plan."), plan)


with Server() as running:
    staff = running.staff(running.first_admin())
    removed_stays_removed(staff)
    days(staff)
    decisions(staff)
    taken_back(staff)
    blanks(staff)
    named_as_sent(staff)
cases.end()
