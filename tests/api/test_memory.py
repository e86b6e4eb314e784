#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Memory stays flat over a day's work of many tablets: 100,000 requests of every common kind with TAP_LONG=1, 600 else.
The server is warmed first, so that what it keeps for good (connections to the store, its caches) is there before."""
import os
import sys
import threading
import time

sys.dont_write_bytecode = True
from api_client import LONG, Cases, Client, Server, example

cases = Cases()
case = cases.case
TABLETS, WARM = 4, 400
REQUESTS = int(os.environ.get("REQUESTS", 100000 if LONG else 600))
# What a heap may still settle by once warm, in pages that are not given back (judgement); a leak of 100 bytes a request
# would be 10 MB.
SETTLES_KB = 8192


def writes(client, limb, number):
    return client.post("/api/limbs/%d/facts" % limb, {"kind": "note", "body": {"text": "invented %d" % number}}).status == 201


def asks(client, limb, number):
    """The request number `number` of a tablet; whether it was answered as it should be."""
    document = {"document": example_limb, "options": {"weighed_g": 1500 + number % 100}}
    ways = (lambda: client.get("/api/limbs/%d" % limb).status == 200,
            lambda: client.get("/api/limbs?search=invented%%20%d" % (number % 9)).status == 200,
            lambda: client.get("/api/limbs?count=50&order=changed").status == 200,
            lambda: client.get("/api/shop").status == 200,
            lambda: client.get("/api/me").status == 200,
            lambda: client.get("/api/limbs/987654321").status == 404,
            lambda: client.get("/").status == 200,
            lambda: client.post("/api/limbs/%d/facts" % limb, {"kind": "wish", "body": {}}).status == 422)
    if number % 50 == 7:
        return client.post("/api/compute/mass", document).status == 200
    if number % 100 == 11:
        return client.post("/api/compute/strength", {"document": example_limb, "options": {"samples": 0}}).status == 200
    if number % 100 == 13:
        return client.ask("PUT", "/api/limbs/%d" % limb, b"{ damaged", Content_Type="application/json").status in (400, 422, 428)
    return ways[number % len(ways)]()


def work(clients, limbs, count, wrong):
    def run(client, limb):
        for number in range(count // TABLETS):
            if not asks(client, limb, number):
                wrong.append(number)
    threads = [threading.Thread(target=run, args=pair) for pair in zip(clients, limbs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


with Server() as running:
    staff = running.staff(running.first_admin())
    example_limb = example("adult")
    example_limb["person"]["label"] = "invented 1"
    clients, limbs, wrong = [], [], []
    for _ in range(TABLETS):
        clients.append(Client(running))
        clients[-1].sign_in("technician")
        limbs.append(clients[-1].post("/api/limbs", {"document": example_limb})["id"])
    # Facts are written before, so that what is read does not grow meanwhile.
    case("facts to read", all(writes(clients[0], limb, n) for limb in limbs for n in range(5)))
    work(clients, limbs, max(WARM, REQUESTS // 10), wrong)
    before, begun = running.memory_kb(), time.monotonic()
    work(clients, limbs, REQUESTS, wrong)
    after, took = running.memory_kb(), time.monotonic() - begun
    case("every request is answered as it should be", not wrong, wrong[:20])
    case("memory is flat over %d requests (%d kB before, %d kB after, %.0f requests/s)" % (REQUESTS, before, after, REQUESTS / took),
         after - before <= SETTLES_KB or running.sanitized(), (before, after))
    # What is written meanwhile lies in the store, not in the server.
    pages = [running.memory_kb()]
    for number in range(REQUESTS // 100):
        if not writes(clients[number % TABLETS], limbs[number % TABLETS], number):
            wrong.append(number)
    pages.append(running.memory_kb())
    case("nor does it grow with %d facts written (%d kB, %d kB)" % (REQUESTS // 100, *pages), not wrong and
         (pages[1] - pages[0] <= SETTLES_KB or running.sanitized()), pages)
cases.end()
