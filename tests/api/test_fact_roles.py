#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every kind of fact with every role, and what takes a limb out of use: anybody signed in writes it down, and the limb
is out of use in the same answer."""
import sys

sys.dont_write_bytecode = True
from api_client import Cases, Client, Server, example, is_error

cases = Cases()
case = cases.case
ROLES = ("prosthetist", "technician", "reader", "admin")
# Written down a second time here, as no table of rules may ever say otherwise.
ANYBODY = {"crack", "quarantine", "incident", "note"}
TAKES_OUT = {"crack": {"where": "hole", "seen": "an invented line at the screw"},
             "quarantine": {"reason": "an invented doubt"},
             "incident": {"what": "an invented stumble", "harm": "none"}}


def fresh(client, label):
    document = example("adult")
    document["person"]["label"] = label
    return client.post("/api/limbs", {"document": document})["id"]


def sample(field):
    """The least that a field takes."""
    kind = field["type"]
    if kind == "word":
        return field["words"][0]
    if kind in ("number", "whole"):
        return max(field.get("min") or 1, 1)
    if kind == "flag":
        return False
    if kind == "list":
        return [body_of(field["fields"])]
    return {"text": "invented words", "date": "2026-01-10", "hash": "0" * 64}.get(kind, {})


def body_of(fields):
    return {f["field"]: sample(f) for f in fields if f.get("required")}


def every_kind(clients):
    limb = fresh(clients["technician"], "invented roles")
    path = "/api/limbs/%d/facts" % limb
    kinds = clients["reader"].get("/api/stages")["facts"]
    wrong, count = [], 0
    for kind in kinds:
        for role in ROLES:
            got = clients[role].post(path, {"kind": kind["kind"], "body": body_of(kind["fields"])})
            count += 1
            if (got.status == 403) != (role not in kind["record"]) or got.status >= 500 or (
                    got.status == 403 and not is_error(got, 403, "kind")):
                wrong.append((kind["kind"], role, got))
    case("every role meets every kind of fact as the rules say (%d pairs)" % count, not wrong and count > 150, wrong)
    open_to_all = {k["kind"] for k in kinds if set(ROLES) == set(k["record"])}
    case("what anybody writes down is what takes a limb out of use, and notes", open_to_all == ANYBODY, open_to_all)


def standing(client, limb):
    seen = client.get("/api/limbs/%d" % limb)["state"]
    row = next(r for r in client.get("/api/limbs?count=200")["limbs"] if r["id"] == limb)
    return seen["out_of_use"], seen["may_be_loaded"], seen["may_go_home"], row["stage"]


def out_at_once(server, clients):
    technician = clients["technician"]
    for kind, body in TAKES_OUT.items():
        for role in ROLES:
            limb = fresh(technician, "invented %s %s" % (kind, role))
            case("a limb is in use before (%s, %s)" % (kind, role), standing(technician, limb)[0] is False)
            got = clients[role].post("/api/limbs/%d/facts" % limb, {"kind": kind, "body": body})
            case("%s by a %s takes it out of use in the same answer" % (kind, role), got.status == 201 and
                 got["state"]["out_of_use"] is True and got["state"]["may_be_loaded"] is False and
                 got["state"]["may_go_home"] is False, got)
            case("and for everybody who looks (%s, %s)" % (kind, role),
                 standing(technician, limb) == (True, False, False, "out-of-use"), standing(technician, limb))
    limb = fresh(technician, "invented inspection")
    seen = technician.post("/api/limbs/%d/facts" % limb, {"kind": "inspection", "body": {
        "body_mass_kg": 78, "whitening": False, "crack": True, "creak": False, "bolt": "tight"}})
    case("a crack found at an inspection does so too", seen.status == 201 and seen["state"]["out_of_use"] is True, seen)
    retired = technician.post("/api/limbs/%d/facts" % fresh(technician, "invented retired"),
                              {"kind": "retired", "body": {"reason": "an invented end"}})
    case("and a retirement", retired.status == 201 and retired["state"]["out_of_use"] is True, retired)


def nobody_lifts_it(clients):
    technician, reader = clients["technician"], clients["reader"]
    limb = fresh(technician, "invented lifted")
    path = "/api/limbs/%d/facts" % limb
    crack = reader.post(path, {"kind": "crack", "body": TAKES_OUT["crack"]})
    for who in (reader, technician, clients["admin"]):
        back = who.post(path, {"kind": "withdrawal", "body": {"fact": crack["fact"]["id"], "reason": "it was dirt"}})
        judged = who.post(path, {"kind": "crack-judged", "body": {"finding": "no-crack", "reason": "it was only dirt"}})
        case("who is not licensed does not talk it away", back.status in (403, 422) and standing(technician, limb)[0] is True,
             (back, judged))
    good = clients["prosthetist"].post(path, {"kind": "crack-judged", "body": {"finding": "no-crack", "reason": "it was only dirt"}})
    case("a licensed prosthetist judges it, and the reason stays", good.status == 201 and good["state"]["out_of_use"] is False and
         any("dirt" in flag["text"] for flag in good["state"]["flags"]), good)
    again = reader.post(path, {"kind": "crack", "body": TAKES_OUT["crack"]})
    case("and the next one takes it out again", again["state"]["out_of_use"] is True, again["state"]["flags"])


def while_signing_waits(server, clients):
    technician, reader = clients["technician"], clients["reader"]
    limb = fresh(technician, "invented locked")
    thief = Client(server)
    for _ in range(5):
        thief.sign_in("reader", "guess guess guess")
    case("a reader is locked out", reader.get("/api/me")["signing"] is False)
    got = reader.post("/api/limbs/%d/facts" % limb, {"kind": "crack", "body": TAKES_OUT["crack"]})
    case("a crack goes in all the same, and counts", got.status == 201 and got["fact"]["signs"] is False and
         got["state"]["out_of_use"] is True, got)
    stranger = Client(server).post("/api/limbs/%d/facts" % limb, {"kind": "crack", "body": TAKES_OUT["crack"]})
    case("but nobody writes who is not signed in", stranger.status == 401, stranger)
    early = clients["admin"].post("/api/limbs/%d/facts" % fresh(technician, "invented early"), {
        "kind": "crack", "happened_at": "2026-01-01", "body": TAKES_OUT["crack"]})
    case("one that was seen long ago counts as well", early.status == 201 and early["state"]["out_of_use"] is True, early)


with Server() as running:
    staff = running.staff(running.first_admin())
    every_kind(staff)
    out_at_once(running, staff)
    nobody_lifts_it(staff)
    while_signing_waits(running, staff)
cases.end()
