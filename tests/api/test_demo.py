#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The invented shop through the server: whatever a limb's state, every view of it answers, and never with a failure of
the program. All limbs with TAP_LONG=1, else some of them."""
import collections
import os
import shutil
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
from api_client import LONG, PROGRAM, Cases, Client, Server

cases = Cases()
case = cases.case
COMPUTED = ("strength", "length", "mass", "vent", "fasten", "growth", "align", "limb")
DRAWN = ("limb", "strength", "align")


def all_rows(client):
    rows, after = [], ""
    while after is not None:
        page = client.get("/api/limbs?count=20&after=" + after).json
        rows, after = rows + page["limbs"], page["after"]
    return rows


def visit(client, number, seen):
    base = "/api/limbs/%d" % number
    limb = client.get(base)
    seen["limb", limb.status] += 1
    for ring in limb["rings"][:1]:
        for view in ("/sheet.svg", "/outline"):
            seen["ring" + view, client.get("%s/rings/%d%s" % (base, ring["n"], view)).status] += 1
        if ring["picture"]:
            seen["picture", client.get("/api/pictures/%s/view.png" % ring["picture"]).status] += 1
    for kind in ("release", "care"):
        seen[kind, client.get(base + "/report.pdf?kind=" + kind).status] += 1
    for name in COMPUTED:
        answer = client.post("/api/compute/" + name, {"limb": number})
        seen[name, answer.status] += 1
        if answer.status == 422 and not answer["error"]["what"]:
            seen[name, "curt"] += 1
    for name in DRAWN:
        seen[name + " drawn", client.post("/api/compute/%s/drawing" % name, {"limb": number}).status] += 1


folder = tempfile.mkdtemp(prefix="standfast-demo-")
try:
    store = os.path.join(folder, "shop.sqlite")
    made = subprocess.run([PROGRAM, "demo", "--store", store], capture_output=True, text=True)
    case("the invented shop is made", made.returncode == 0 and "invented" in made.stdout, made)
    with Server("--demo", folder=folder, store=store) as server:
        client = Client(server)
        case("its people sign in", client.sign_in("Lia Invented", "invented-shop").status == 200)
        case("the page is told that it is a demo", client.get("/api/about")["demo"] is True)
        rows = all_rows(client)
        shop = client.get("/api/shop").json
        case("the shop has work for today", len(rows) >= 40 and shop["counts"]["limbs"] == len(rows) and shop["next"], shop)
        seen = collections.Counter()
        for row in rows if LONG else rows[::9]:
            visit(client, row["id"], seen)
        wrong = {what: n for what, n in seen.items() if what[1] not in (200, 422)}
        case("every view of its limbs answers (%d answers)" % sum(seen.values()), not wrong and sum(seen.values()) > 60, wrong)
        refused = sum(n for (_, status), n in seen.items() if status == 422)
        case("few are refused for what is not known yet (%d)" % refused, refused <= 0.1 * sum(seen.values()), seen)
        case("and its record holds", client.get("/api/verify")["holds"] is True)
finally:
    shutil.rmtree(folder, ignore_errors=True)
cases.end()
