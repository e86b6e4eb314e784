#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The same server over PostgreSQL: people, two editors, repeats, pictures, a kill in the midst, the walk over all."""
import os
import shutil
import signal
import sys
import tempfile
import threading
import time

sys.dont_write_bytecode = True
from api_client import Cases, Client, Server, example, is_error
from api_cluster import Cluster

cases = Cases()
case = cases.case


def whole_way(server, admin, staff):
    technician, prosthetist = staff["technician"], staff["prosthetist"]
    document = example("adult")
    document["person"]["label"] = "invented over there"
    document["pylon"].pop("rings", None)
    made = technician.post("/api/limbs", {"document": document}, Idempotency_Key="postgres-0001")
    again = technician.post("/api/limbs", {"document": document}, Idempotency_Key="postgres-0001")
    case("a limb is made once, however often it is sent", made.status == 201 and made.body == again.body and
         len(technician.get("/api/limbs")["limbs"]) == 1, (made, again))
    base = "/api/limbs/%d" % made["id"]
    document["person"]["body_mass_kg"] = 80
    first = technician.put(base, {"document": document}, If_Match="1")
    late = prosthetist.put(base, {"document": document}, If_Match="1")
    case("the second editor is told", first.status == 200 and is_error(late, 409) and late["error"]["current"]["version"] == 2, late)
    data = b"\x89PNG\r\n\x1a\n" + os.urandom(50000)
    put = technician.ask("POST", base + "/pictures", data, Content_Type="image/png")
    case("pictures lie beside it", put.status == 201 and technician.get("/api/pictures/" + put["picture"]).body == data, put)
    case("search finds by words", len(technician.get("/api/limbs?search=over%20invent")["limbs"]) == 1)
    return base, staff


def killed(server, admin, technician, base):
    done = []
    def write():
        try:
            while True:
                text = "said %d" % len(done)
                if writer.post(base + "/facts", {"kind": "note", "body": {"text": text}}).status == 201:
                    done.append(text)
        except Exception:
            pass
    writer = Client(server)
    writer.cookie, writer.csrf = technician.cookie, technician.csrf
    thread = threading.Thread(target=write)
    thread.start()
    time.sleep(1)
    server.stop(signal.SIGKILL)
    thread.join()
    server.start()
    for client in (admin, technician):
        client.line = None
    there = [f["body"].get("text") for f in technician.get(base)["facts"]]
    case("killed in the midst of writing, it has all that it had acknowledged (%d)" % len(done), done and
         there[:len(done)] == done and len(there) <= len(done) + 1, (done[-3:], there[-3:]))
    case("and its chain holds", admin.get("/api/verify")["holds"] is True)


folder = tempfile.mkdtemp(prefix="standfast-pg-")
cluster = Cluster(folder)
address = cluster.start()
if address is None:
    print("ok 1 - PostgreSQL is not installed # SKIP install postgresql-15\n1..1")
    sys.exit(0)
try:
    with Server("--files", os.path.join(folder, "files"), folder=folder, store=address) as running:
        one = running.first_admin()
        people = running.staff(one)
        path, people = whole_way(running, one, people)
        killed(running, one, people["technician"], path)
        case("a session outlives the server", people["prosthetist"].get("/api/me").status == 200)
finally:
    cluster.stop()
    shutil.rmtree(folder, ignore_errors=True)
cases.end()
