#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The record as a whole: papers, export and import, removal of a wearer's data, the walk over all of it."""
import glob
import io
import json
import os
import subprocess
import sys
import tarfile

sys.dont_write_bytecode = True
from api_client import PROGRAM, Cases, Server, example, is_error

cases = Cases()
case = cases.case
NAME = "Quillon Invented-Wearer"
SECRET = "tells a long invented story"


def make(technician, prosthetist):
    document = example("adult")
    document["person"].update(label=NAME, birth_date="1971-02-03")
    document["pylon"].pop("rings", None)
    document["pylon"]["sheet_lot"] = "L-77"
    limb = technician.post("/api/limbs", {"document": document}).json
    base = "/api/limbs/%d" % limb["id"]
    technician.post(base + "/facts", {"kind": "note", "body": {"text": SECRET}})
    csv = "angle_deg,outer_mm,wall_mm\n" + "".join("%d,25,6\n" % a for a in range(0, 360, 10))
    technician.post(base + "/rings", {"caliper_csv": csv, "user": "adult"})
    picture = technician.ask("POST", base + "/pictures?name=%s.png" % NAME.replace(" ", "_"), b"\x89PNG\r\n\x1a\n" + b"face" * 100)
    technician.post(base + "/facts", {"kind": "picture", "body": {"picture": picture["picture"], "text": SECRET}})
    crack = prosthetist.post(base + "/facts", {"kind": "incident", "body": {"what": "an invented stumble", "harm": "none"}})
    assert crack.status == 201, crack
    return limb["id"], limb["wearer"], picture["picture"]


def papers(reader, limb):
    for kind in ("release", "traveller", "care", "wrap"):
        got = reader.get("/api/limbs/%d/report.pdf?kind=%s&paper=letter&units=inch" % (limb, kind))
        case("%s is a paper" % kind, got.status == 200 and got.headers["Content-Type"] == "application/pdf" and
             got.body[:5] == b"%PDF-", got)
    one, two = (reader.get("/api/limbs/%d/report.pdf?kind=care" % limb).body for _ in range(2))
    case("the same record gives the same bytes", one == two)
    case("a kind that is none is named", is_error(reader.get("/api/limbs/%d/report.pdf?kind=novel" % limb), 422, "kind"))
    case("a limb that is none has no paper", is_error(reader.get("/api/limbs/424242/report.pdf"), 404))


def exports(clients, limb, wearer):
    prosthetist = clients["prosthetist"]
    case("a technician takes no data out", clients["technician"].get("/api/limbs/%d/export" % limb).status == 403)
    one = prosthetist.get("/api/limbs/%d/export" % limb)
    names = tarfile.open(fileobj=io.BytesIO(one.body)).getnames()
    case("a limb goes out as an archive that anybody can open", one.status == 200 and "export.json" in names and
         "export.signature" in names and sum(n.startswith("pictures/") for n in names) == 2, names)
    whole = prosthetist.get("/api/wearers/%d/export" % wearer)
    case("and all of a wearer", whole.status == 200 and len(whole.body) >= len(one.body) // 2, whole.status)
    acts = [e["action"] for e in prosthetist.get("/api/audit?count=5")["entries"]]
    case("the audit says that it was taken", acts.count("export") == 2, acts)
    here = prosthetist.ask("POST", "/api/import", one.body, Content_Type="application/x-tar")
    case("what is here already is not put in twice", is_error(here, 409), here)
    bent = bytearray(one.body)
    bent[len(bent) // 2] ^= 1
    damaged = prosthetist.ask("POST", "/api/import", bytes(bent), Content_Type="application/x-tar")
    case("a changed byte is refused", damaged.status in (409, 422), damaged)
    case("so is what is no export", is_error(prosthetist.ask("POST", "/api/import", b"hello"), 422))
    return one.body


def imports(bundle, limb):
    with Server() as other:
        admin = other.first_admin()
        clients = other.staff(admin)
        got = clients["prosthetist"].ask("POST", "/api/import", bundle, Content_Type="application/x-tar")
        case("another shop takes it in", got.status == 201 and len(got["limbs"]) == 1, got)
        there = clients["reader"].get("/api/limbs/%d" % got["limbs"][0])
        case("document, facts and rings are there", there["document"]["person"]["label"] == NAME and
             [f["kind"] for f in there["facts"]] == [f["kind"] for f in limb["facts"]] and len(there["rings"]) == 1, there)
        case("where it stands is worked out anew", there["state"]["next_action"] == limb["state"]["next_action"])
        case("and its record holds", admin.get("/api/verify")["holds"] is True)


def removal(server, clients, limb, wearer, picture):
    admin, reader = clients["admin"], clients["reader"]
    path = "/api/wearers/%d/remove" % wearer
    case("only an admin removes", clients["prosthetist"].post(path, {"confirm": "remove"}).status == 403)
    case("and says so in so many words", is_error(admin.post(path, {}), 422, "confirm"))
    before = reader.get("/api/limbs/%d" % limb).json
    head = admin.get("/api/verify")["head"]
    gone = admin.post(path, {"confirm": "remove"})
    case("a wearer's data is removed", gone.status == 200 and gone["pictures_removed"] == 1, gone)
    after = reader.get("/api/limbs/%d" % limb)
    case("what the maker keeps is there", after.status == 200 and after["document"]["pylon"]["sheet_lot"] == "L-77" and
         after["document"]["person"]["side"] == before["document"]["person"]["side"] and
         [f["kind"] for f in after["facts"]] == [f["kind"] for f in before["facts"]], after)
    incident = next(f for f in after["facts"] if f["kind"] == "incident")
    case("an incident's words stay", incident["body"]["what"] == "an invented stumble", incident)
    ring = next(f for f in after["facts"] if f["kind"] == "ring")
    case("a ring's figures stay", ring["body"]["decision"] and ring["body"]["result"]["area_mm2"] > 0)
    case("name, birth and free words are gone", all(word not in after.body for word in (NAME, "1971-02-03", SECRET)))
    case("search finds the name no more", reader.get("/api/limbs?search=quillon")["limbs"] == [])
    case("recall still finds the lot", [row["limb"] for row in reader.get("/api/recall?lot=L-77")["limbs"]] == [limb])
    case("a picture that was not of a ring is gone", reader.get("/api/pictures/" + picture).status == 404)
    found = [path for path in glob.glob(server.folder + "/**", recursive=True) if not path.endswith("serve.log") and
             os.path.isfile(path) and any(word.encode() in open(path, "rb").read() for word in (NAME, SECRET))]
    case("no file of the store holds the name or the words any more", not found, found)
    walk = admin.get("/api/verify?expect=" + head)
    case("the chain holds, with every entry that was there before", walk["holds"] is True, walk)
    again = admin.post(path, {"confirm": "remove"})
    case("asked again there is nothing left to remove", again.status == 200 and again["pictures_removed"] == 0, again)
    acts = {e["action"] for e in admin.get("/api/audit?count=100")["entries"]}
    case("and the audit says that it was", "remove-data" in acts, acts)


with Server() as running:
    staff = running.staff(running.first_admin())
    limb_id, wearer_id, face = make(staff["technician"], staff["prosthetist"])
    papers(staff["reader"], limb_id)
    archive = exports(staff, limb_id, wearer_id)
    imports(archive, staff["reader"].get("/api/limbs/%d" % limb_id).json)
    removal(running, staff, limb_id, wearer_id, face)
    case("the program ends when told", running.stop() == 0, running.words())
    proof = subprocess.run([PROGRAM, "store", "verify", "--store", running.store, "--json"], capture_output=True, text=True)
    case("the command proves the store that the server leaves", proof.returncode == 0 and
         not json.loads(proof.stdout).get("problems"), proof)
cases.end()
