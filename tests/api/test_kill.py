#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The server is killed (SIGKILL) in the middle of writes and uploads, again and again: nothing that it had acknowledged
is lost, what it had not is there whole or not at all, and the record's chain holds. 5 kills, 200 with TAP_LONG=1, or as many as KILLS says; SEED makes another run."""
import hashlib
import http.client
import os
import random
import shutil
import signal
import sys
import tempfile
import threading
import time

sys.dont_write_bytecode = True
from api_client import LONG, Cases, Client, Server, example

cases = Cases()
case = cases.case
KILLS = int(os.environ.get("KILLS", 200 if LONG else 5))
SEED = int(os.environ.get("SEED", "20261"))
chance = random.Random(SEED)


class Writer(threading.Thread):
    """Sends one kind of write after the other until the server is gone; keeps what was acknowledged and the last that
    was not."""

    def __init__(self, server, cookie, csrf, number):
        super().__init__(daemon=True)
        self.client = Client(server)
        self.client.cookie, self.client.csrf = cookie, csrf
        self.number, self.acknowledged, self.open, self.refused = number, [], None, []

    def run(self):
        try:
            while True:
                self.open = self.prepare()
                answer = self.client.ask(*self.open["ask"], Idempotency_Key=self.open["key"],
                                         **self.open.get("headers", {}))
                if answer.status in (200, 201):
                    self.acknowledged.append(dict(self.open, answer=answer.json))
                    self.open = None
                else:
                    self.refused.append(answer)
                    return
        except (OSError, http.client.HTTPException):
            pass  # gone in mid-request: `open` holds what nobody knows the fate of

    def key(self):
        return "%08x%08x" % (chance.getrandbits(32), chance.getrandbits(32))


class Facts(Writer):
    limb = None

    def prepare(self):
        text = self.key()
        return {"ask": ("POST", "/api/limbs/%d/facts" % self.limb, {"kind": "note", "body": {"text": text}}),
                "key": self.key(), "text": text}


class Saves(Writer):
    limb, version, document = None, None, None

    def prepare(self):
        if self.acknowledged:
            self.version = self.acknowledged[-1]["answer"]["version"]
        self.document["person"]["body_mass_kg"] = mass = round(50 + chance.randrange(0, 4000) / 100, 2)
        return {"ask": ("PUT", "/api/limbs/%d" % self.limb, self.document), "key": self.key(), "mass": mass,
                "headers": {"If_Match": str(self.version)}}

    def run(self):
        document = self.document
        prepare = self.prepare
        self.prepare = lambda: dict(prepare(), ask=("PUT", "/api/limbs/%d" % self.limb, {"document": document}))
        super().run()


class Uploads(Writer):
    limb = None

    def prepare(self):
        data = b"\x89PNG\r\n\x1a\n" + chance.randbytes(chance.randrange(1000, 600000))
        return {"ask": ("POST", "/api/limbs/%d/pictures" % self.limb, data), "key": self.key(),
                "sum": hashlib.sha256(data).hexdigest(), "headers": {"Content_Type": "image/png"}}


class Limbs(Writer):
    def prepare(self):
        label = "kill " + self.key()
        document = example("child")
        document["person"]["label"] = label
        document["pylon"].pop("rings", None)
        return {"ask": ("POST", "/api/limbs", {"document": document}), "key": self.key(), "label": label}


def new_limb(client, label):
    document = example("adult")
    document["person"]["label"] = label
    document["pylon"].pop("rings", None)
    return client.post("/api/limbs", {"document": document}).json


def look(client, kept, limbs, trouble):
    """Everything acknowledged so far is there."""
    facts = {f["id"]: f["body"].get("text") for f in client.get("/api/limbs/%d" % limbs["facts"]["id"])["facts"]}
    for one in kept["facts"]:
        if facts.get(one["answer"]["fact"]["id"]) != one["text"]:
            trouble.append("fact %s is lost" % one["text"])
    saved = client.get("/api/limbs/%d" % limbs["saves"]["id"]).json
    if kept["saves"] and saved["version"] < kept["saves"][-1]["answer"]["version"]:
        trouble.append("version %d is lost" % kept["saves"][-1]["answer"]["version"])
    if kept["saves"] and saved["version"] == kept["saves"][-1]["answer"]["version"] and \
            saved["document"]["person"]["body_mass_kg"] != kept["saves"][-1]["mass"]:
        trouble.append("a saved document is another")
    for one in kept["uploads"][-20:]:
        back = client.get("/api/pictures/" + one["answer"]["picture"])
        if back.status != 200 or hashlib.sha256(back.body).hexdigest() != one["sum"]:
            trouble.append("picture %s is lost" % one["answer"]["picture"])
    for one in kept["limbs"][-20:]:
        back = client.get("/api/limbs/%d" % one["answer"]["id"])
        if back.status != 200 or back["document"]["person"]["label"] != one["label"]:
            trouble.append("limb %s is lost" % one["label"])
    return facts


def send_again(client, writer, limbs, kept, name, facts, trouble):
    """The tablet sends what it never heard of again, with its key: it then is there once."""
    once = writer.open
    if once is None:
        return
    answer = client.ask(*once["ask"], Idempotency_Key=once["key"], **once.get("headers", {}))
    if answer.status == 409 and name == "saves":
        trouble.append("a save that was made is called a conflict when it comes again")
    elif answer.status not in (200, 201):
        trouble.append("%s sent again: %s" % (name, answer))
    else:
        kept[name].append(dict(once, answer=answer.json))
    if name == "facts":
        texts = [f["body"].get("text") for f in client.get("/api/limbs/%d" % limbs["facts"]["id"])["facts"]]
        if texts.count(once["text"]) != 1:
            trouble.append("fact %s is there %d times" % (once["text"], texts.count(once["text"])))


folder = tempfile.mkdtemp(prefix="standfast-kill-")
server = Server(folder=folder).start()
admin = server.first_admin()
staff = server.staff(admin)
technician = staff["technician"]
limbs = {name: new_limb(technician, "kill " + name) for name in ("facts", "saves", "uploads")}
kept = {"facts": [], "saves": [], "uploads": [], "limbs": []}
trouble, midway, head = [], 0, ""
for kill in range(KILLS):
    writers = {"facts": Facts(server, technician.cookie, technician.csrf, kill), "saves": Saves(server, technician.cookie, technician.csrf, kill),
               "uploads": Uploads(server, technician.cookie, technician.csrf, kill), "limbs": Limbs(server, technician.cookie, technician.csrf, kill)}
    for name in ("facts", "saves", "uploads"):
        writers[name].limb = limbs[name]["id"]
    now = technician.get("/api/limbs/%d" % limbs["saves"]["id"]).json
    writers["saves"].version, writers["saves"].document = now["version"], now["document"]
    for writer in writers.values():
        writer.start()
    time.sleep(chance.uniform(0.1, 0.9))
    server.stop(signal.SIGKILL)
    for writer in writers.values():
        writer.join(30)
    for name, writer in writers.items():
        kept[name] += writer.acknowledged
        midway += writer.open is not None
        trouble += ["%s refused: %s" % (name, answer) for answer in writer.refused]
    server.start()
    for client in staff.values():
        client.line = None
    facts = look(technician, kept, limbs, trouble)
    for name, writer in writers.items():
        send_again(technician, writer, limbs, kept, name, facts, trouble)
    report = admin.get("/api/verify?expect=" + head)
    if report.status != 200 or not report["holds"]:
        trouble.append("the record does not hold: %s" % report)
        break
    head = report["head"]
done = sum(map(len, kept.values()))
case("%d kills in the midst of writes and uploads: nothing acknowledged is lost (%d writes, seed %d)" % (KILLS, done, SEED),
     not trouble and done > 4 * KILLS, trouble[:10])
case("the kills did come in the midst of requests (%d of %d)" % (midway, 4 * KILLS), midway >= KILLS, midway)
case("each kind of write was among them", all(len(v) >= 2 for v in kept.values()), {k: len(v) for k, v in kept.items()})
last = admin.get("/api/verify").json
case("the chain holds from its first entry to its last (%d entries, %d files)" % (last["entries"], last["files"]), last["holds"], last)
all_labels = [row["label"] for row in technician.get("/api/limbs?search=kill&count=200")["limbs"]]
case("no limb is there twice", len(all_labels) == len(set(all_labels)), len(all_labels))
case("the program ends when told", server.stop() == 0, server.words())
shutil.rmtree(folder, ignore_errors=True)
cases.end()
