#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What papers say of the shop: set by an admin, kept in the chain, on the release, in backup, restore and export."""
import io
import json
import os
import pathlib
import sqlite3
import subprocess
import sys
import tarfile
import tempfile

sys.dont_write_bytecode = True
from api_client import PROGRAM, ROOT, Cases, Server, example, is_error

cases = Cases()
case = cases.case
SHOP = {"name": "Invented limbs Wörkshop", "address": "2 Example Lane", "telephone": "000 111",
        "statement": "First invented line.\nSecond line of the invented statement."}


def words_of(pdf):
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        return subprocess.run(["pdftotext", "-layout", file.name, "-"], capture_output=True, text=True, check=True).stdout


def program(*words):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True)


def set_by_an_admin(clients):
    admin, reader = clients["admin"], clients["reader"]
    none = dict.fromkeys(SHOP)
    case("a new store says nothing of the shop", reader.get("/api/letterhead").json == none, reader.get("/api/letterhead"))
    for role in ("prosthetist", "technician", "reader"):
        case("a %s does not change it" % role, is_error(clients[role].put("/api/letterhead", SHOP), 403))
    done = admin.put("/api/letterhead", SHOP, Idempotency_Key="letterhead-0001")
    case("an admin does", done.status == 200 and done.json == SHOP, done)
    case("and everybody sees it", reader.get("/api/letterhead").json == SHOP)
    part = admin.put("/api/letterhead", {"telephone": ""})
    case("an empty text goes, what is left out stays", part.json == dict(SHOP, telephone=None), part)
    gone = admin.put("/api/letterhead", {"address": None, "telephone": "000 111"})
    case("so does null", gone.json == dict(SHOP, address=None), gone)
    for wrong, field in (({"name": "n" * 201}, "name"), ({"statement": "s" * 4001}, "statement"), ({"name": 7}, "name"),
                         ({"hat": "x"}, "hat"), ({"name": "bell \x07"}, "name")):
        refused = admin.put("/api/letterhead", wrong)
        case("%s is refused by name" % str(wrong)[:30], refused.status == 422 and field in refused.body, refused)
    case("and nothing of it was kept", admin.put("/api/letterhead", SHOP).json == SHOP)
    acts = [e for e in clients["prosthetist"].get("/api/audit?count=200")["entries"] if (e["subject"] or "").startswith("store/")]
    case("every change stands in the audit", len(acts) == 5 and acts[0]["action"] == "change" and acts[0]["who"] is not None, acts)
    case("and the proof holds", clients["prosthetist"].get("/api/verify")["holds"] is True)


def on_papers(server, clients):
    limb = clients["technician"].post("/api/limbs", {"document": example("adult")})["id"]
    text = words_of(clients["reader"].get("/api/limbs/%d/report.pdf?kind=release" % limb).body)
    case("the release names shop, address, telephone and statement", all(
        line in text for value in SHOP.values() for line in value.split("\n")), text[:600])
    care = words_of(clients["reader"].get("/api/limbs/%d/report.pdf?kind=care" % limb).body)
    case("the care sheet names the telephone", "000 111" in care, care[:300])
    packed = tarfile.open(fileobj=io.BytesIO(clients["prosthetist"].get("/api/limbs/%d/export" % limb).body))
    case("an export says whose limb it is", json.load(packed.extractfile("export.json"))["shop"] == SHOP)
    return limb


def in_backups(server, folder):
    backup, again = folder + "/backup", folder + "/again.sqlite"
    case("a backup is made while it runs", program("store", "backup", backup, "--store", server.store).returncode == 0)
    done = program("store", "restore", backup, "--store", again)
    case("and restored and proved", done.returncode == 0, done.stderr)
    paper = folder + "/release.pdf"
    limb = str(ROOT / "data/examples/adult.json")
    done = program("report", limb, "-o", paper, "--kind", "release", "--store", again)
    case("the release at the command line takes the shop from the store", done.returncode == 0 and
         all(line in words_of(pathlib.Path(paper).read_bytes()) for line in (SHOP["name"], "Second line of the invented")), done.stderr)
    own = folder + "/words.json"
    pathlib.Path(own).write_text(json.dumps({"format": "standfast-report/1", "shop": {"name": "Another invented shop"}}))
    program("report", limb, "-o", paper, "--store", again, "--words", own)
    text = words_of(pathlib.Path(paper).read_bytes())
    case("unless the words name one themselves", "Another invented shop" in text and SHOP["name"] not in text)
    pathlib.Path(own).write_text(json.dumps({"format": "standfast-report/1", "prosthetist": {"name": "Ada Invented"}}))
    program("report", limb, "-o", paper, "--store", again, "--words", own)
    text = words_of(pathlib.Path(paper).read_bytes())
    case("words without a shop are filled up", "Ada Invented" in text and SHOP["name"] in text)
    missing = program("report", limb, "-o", folder + "/none.pdf", "--store", folder + "/none.sqlite")
    case("a store that is not there is named, and nothing is written", missing.returncode == 5 or missing.returncode == 3 and
         "none.sqlite" in missing.stderr and not os.path.exists(folder + "/none.pdf"), missing)
    with sqlite3.connect(again) as line:
        line.execute("UPDATE store SET shop_statement = replace(shop_statement, 'First', 'Fist')")
    line.close()
    found = program("store", "verify", "--store", again)
    case("a changed statement is found", found.returncode == 5 and "store/" in found.stderr, found.stderr)


with tempfile.TemporaryDirectory() as folder, Server() as running:
    staff = running.staff(running.first_admin())
    set_by_an_admin(staff)
    on_papers(running, staff)
    in_backups(running, folder)
cases.end()
