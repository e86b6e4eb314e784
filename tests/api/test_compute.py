#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every computation over HTTP beside the command of the same name; drawings, refusals, long work."""
import json
import sys
import tempfile
import threading
import time
import xml.etree.ElementTree

sys.dont_write_bytecode = True
from api_client import ROOT, Cases, Client, Server, command, example, is_error, same, wait_for

cases = Cases()
case = cases.case
LIMBS = {  # computation: (options, command line, example)
    "strength": ({"level": "P4", "temperature_c": 40}, ["--level", "P4", "--temperature-c", "40"], "adult"),
    "align": ({"foot_outset_mm": 6, "eversion_deg": -2}, ["--foot-outset-mm", "6", "--eversion-deg", "-2"], "adult"),
    "length": ({"leave_long_mm": 10}, ["--leave-long-mm", "10"], "adult"),
    "growth": ({"as_of": "2026-03-01", "months": 12}, ["--as-of", "2026-03-01", "--months", "12"], "child"),
    "fasten": ({}, [], "adult"),
    "vent": ({}, [], "two-sided"),
    "mass": ({"weighed_g": 1700, "without_shoe": True}, ["--weighed-g", "1700", "--without-shoe"], "adult"),
}


def limbs(client):
    for name, (options, line, who) in LIMBS.items():
        answer = client.post("/api/compute/" + name, {"document": example(who), "options": options})
        wanted = command(name, str(ROOT / "data/examples" / (who + ".json")), *line)
        differs = "no result" if answer.status != 200 or not wanted else same(answer.json, wanted)
        case("%s answers what its command prints" % name, differs is None, (differs, answer))
        missing = client.post("/api/compute/" + name, {"document": {"format": "standfast-limb/1"}})
        case("%s names a missing field by its path" % name,
             missing.status == 422 and "document.person" in missing.body, missing)
    two = client.post("/api/compute/compare", {"documents": [example("adult"), example("heavy-adult")], "names": ["a", "b"]})
    wanted = command("strength", "--compare", str(ROOT / "data/examples/adult.json"), str(ROOT / "data/examples/heavy-adult.json"))
    for choice, name in zip(wanted["choices"], "ab"):
        choice["name"] = name
    case("compare lays them side by side as the command does", two.status == 200 and same(two.json, wanted) is None,
         (two.status, two.status == 200 and same(two.json, wanted)))


def others(client):
    trials = json.loads((ROOT / "data/trials/two-walks.json").read_text())
    got = client.post("/api/compute/advise", {"trials": trials})
    wanted = command("advise", str(ROOT / "data/trials/two-walks.json"))
    case("advise answers what its command prints", got.status == 200 and same(got.json, wanted) is None, got)
    case("signs lists the signs", same(client.post("/api/compute/signs").json, command("advise", "--signs")) is None)
    rows = "time_s,side\n" + "".join("%.2f,%s\n" % (0.6 * i + (0.03 if i % 2 else 0), "LR"[i % 2]) for i in range(24))
    with tempfile.NamedTemporaryFile("w", suffix=".csv") as table:
        table.write(rows)
        table.flush()
        wanted = command("steps", table.name, "--prosthetic", "R")
    steps = client.post("/api/compute/steps", {"csv": rows, "options": {"prosthetic": "R"}})
    case("steps answers what its command prints", steps.status == 200 and same(steps.json, wanted) is None, steps)
    # a tube of 50 mm and 38 mm, by caliper: area pi / 4 (50^2 - 38^2) = 829.4 mm2 (closed form)
    caliper = "angle_deg,outer_mm,wall_mm\n" + "".join("%d,25,6\n" % a for a in range(0, 360, 15))
    ring = client.post("/api/compute/ring", {"caliper_csv": caliper, "options": {"user": "adult", "nominal_wall_mm": 6}})
    case("ring takes caliper readings", ring.status == 200 and abs(ring["area_mm2"] - 829.38) < 0.5 and ring["decision"], ring)
    drawn = client.post("/api/compute/ring/drawing", {"caliper_csv": caliper, "options": {"user": "adult"}})
    case("and draws them", drawn.status == 200 and drawn.headers["Content-Type"] == "image/svg+xml" and
         xml.etree.ElementTree.fromstring(drawn.body).tag.endswith("svg"), drawn)
    drawn = client.post("/api/compute/strength/drawing", {"document": example("adult")})
    case("strength draws", drawn.status == 200 and b"<svg" in drawn.body, drawn)
    drawn = client.post("/api/compute/steps/drawing", {"csv": rows})
    case("steps draws its strip", drawn.status == 200 and b"<svg" in drawn.body, drawn)
    bare = client.post("/api/compute/advise/drawing", {"trials": trials})
    own = client.post("/api/compute/advise/drawing", {"trials": trials, "document": example("adult")})
    case("advise draws, and on its own limb where one is named", bare.status == own.status == 200 and b"<svg" in own.body
         and bare.body != own.body, own)


def sheets(client):
    """A squeezed ring and a plan before forming, beside their commands."""
    pressed = {"ring": {"outer_diameter_mm": 50, "inner_diameter_mm": 38}, "axial_length_mm": 20, "load_n": 150,
               "closing_mm": 0.7437, "loading_time_s": 60, "seam_to_load_deg": 0, "wanted_seam_stress_mpa": 9}
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        json.dump(pressed, file)
        file.flush()
        wanted = command("squeeze", file.name)
    got = client.post("/api/compute/squeeze", {"squeeze": pressed})
    case("squeeze answers what its command prints", got.status == 200 and same(got.json, wanted) is None, got)
    for name in ("/etc/hostname", "ring.png"):
        got = client.post("/api/compute/squeeze", {"squeeze": dict(pressed, ring={"image": name})})
        case("and reads no file of the machine (%s)" % name, got.status == 422 and "hash" in got.body, got)
    case("nor by a bare name", client.post("/api/compute/squeeze", {"squeeze": dict(pressed, ring="/etc/hostname")}).status == 422)
    for plan in sorted((ROOT / "data/plans").glob("*.json")):
        got = client.post("/api/compute/form", {"plan": json.loads(plan.read_text())})
        wanted = command("form", str(plan))
        case("form answers what its command prints (%s)" % plan.stem, got.status == 200 and same(got.json, wanted) is None, got)
    case("form says what it needs", is_error(client.post("/api/compute/form", {}), 422, "plan"))


def refusals(client):
    limb = example("adult")
    stolen = example("adult")
    stolen["pylon"]["rings"] = [{"height_mm": 110, "image": "/etc/hostname", "posterior_deg": 270, "face": "limb-side"}]
    got = client.post("/api/compute/strength", {"document": stolen})
    case("a document cannot name a file of the machine", is_error(got, 422) and "hash" in got["error"]["what"], got)
    for key, name in (("image", "../../etc/passwd"), ("outline", "shop.sqlite"), ("caliper", "x.csv")):
        stolen["pylon"]["rings"] = [{"height_mm": 110, key: name}]
        got = client.post("/api/compute/mass", {"document": stolen})
        case("nor by %s" % key, got.status == 422 and "hash" in got.body, got)
    card = example("adult")
    card["pylon"]["material"] = "/etc/hostname.json"
    case("nor a material card", client.post("/api/compute/strength", {"document": card}).status == 422)
    case("nor by option", is_error(client.post("/api/compute/strength", {"document": limb, "options": {
        "material": "../card.json"}}), 422, "options.material"))
    got = client.post("/api/compute/strength", {"document": limb, "options": {"temprature_c": 23}})
    case("a misspelt option is named", is_error(got, 422) and "temprature_c" in got["error"]["what"], got)
    got = client.post("/api/compute/strength", {"document": limb, "options": {"temperature_c": "warm"}})
    case("and a wrong value", is_error(got, 422) and got["error"]["problems"][0]["field"] == "options.temperature_c", got)
    case("an unknown computation is not found", is_error(client.post("/api/compute/alchemy"), 404))
    case("what has no drawing says so", is_error(client.post("/api/compute/mass/drawing", {"document": limb}), 404))
    case("a limb that is not there", client.post("/api/compute/mass", {"limb": "123456"}).status == 422)
    listed = client.get("/api/compute")["computations"]
    case("the list has every computation with its options", {c["name"] for c in listed} >= set(LIMBS) | {
        "ring", "section", "steps", "advise", "signs", "compare"}, listed)
    wrong = [c["name"] for c in listed for o in c["options"] if not o["help"] or o["takes"] not in ("flag", "number", "text", "word")]
    case("each option says what it takes", not wrong, wrong)
    broken = client.ask("POST", "/api/compute/mass", "{ \"document\": ", Content_Type="application/json")
    case("broken JSON is called that, with its line", is_error(broken, 400) and "line" in broken["error"]["what"], broken)
    case("a body of another kind is not taken", is_error(client.ask("POST", "/api/compute/mass", "a=b",
         Content_Type="application/x-www-form-urlencoded"), 415))


def together(clients):
    """Several people at once get what one gets alone: figures and drawings share nothing that could mix."""
    caliper = "angle_deg,outer_mm,wall_mm\n" + "".join("%d,25,%.1f\n" % (a, 6 - (a == 180)) for a in range(0, 360, 8))
    asks = [("strength", {"document": example("adult")}), ("strength/drawing", {"document": example("child")}),
            ("ring/drawing", {"caliper_csv": caliper, "options": {"user": "adult"}}),
            ("growth", {"document": example("child"), "options": {"as_of": "2026-03-01"}}),
            ("align", {"document": example("two-sided"), "options": {"foot_outset_mm": 4}}),
            ("ring", {"caliper_csv": caliper, "options": {"user": "child"}})]
    alone = [clients[0].post("/api/compute/" + name, body).body for name, body in asks]
    wrong = []
    def run(client, turn):
        for number in range(2 * len(asks)):
            name, body = asks[(number + turn) % len(asks)]
            got = client.post("/api/compute/" + name, body)
            if got.status != 200 or got.body != alone[(number + turn) % len(asks)]:
                wrong.append((name, got.status, got.body[:200]))
    threads = [threading.Thread(target=run, args=(client, turn)) for turn, client in enumerate(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    case("several at once get the same figures and drawings, byte for byte, as one alone", not wrong, wrong[:3])


def events_of(client, job):
    """The stream to its end: (name, object) of every event."""
    line = client.open()
    line.request("GET", "/api/jobs/" + job + "/events", headers={"Cookie": client.cookie})
    text = line.getresponse().read().decode()
    line.close()
    blocks = [block.split("\n") for block in text.strip().split("\n\n") if block.startswith("event: ")]
    return [(rows[0][7:], json.loads("".join(row[6:] for row in rows[1:] if row.startswith("data: ")))) for rows in blocks]


def jobs(server, client, stranger):
    begun = client.post("/api/jobs", {"work": "compare", "documents": [example("adult"), example("child")] * 3})
    case("long work begins at once", begun.status == 202, begun)
    job = "/api/jobs/" + begun["job"]
    case("and is done in time", wait_for(lambda: client.get(job)["state"] == "done"), client.get(job))
    seen = client.get(job).json
    case("its result is there", len(seen["result"]["choices"]) == 6 and seen["progress"] == 1, seen)
    case("others do not see it", is_error(stranger.get(job), 404))
    failing = client.post("/api/jobs", {"work": "mass", "document": {"format": "standfast-limb/1"}})["job"]
    case("work that cannot be done says why", wait_for(lambda: client.get("/api/jobs/" + failing)["state"] == "failed") and
         "person" in client.get("/api/jobs/" + failing)["error"]["what"], client.get("/api/jobs/" + failing))
    case("unknown work is refused", is_error(client.post("/api/jobs", {"work": "alchemy"}), 422, "work"))

    # Every word of it is told while it works: shares that rise, samples counted.
    long_one = {"work": "strength", "document": example("adult"), "options": {"samples": 200000}}
    told = [e for e in events_of(client, client.post("/api/jobs", long_one)["job"])]
    shares = [e["progress"] for _, e in told]
    case("strength with its bands tells at least ten steps", len(set(shares)) >= 10 and shares == sorted(shares), shares)
    case("and counts its samples", any("of 200000 samples" in (e["said"] or "") for _, e in told), [e["said"] for _, e in told])
    stopped = client.post("/api/jobs", dict(long_one, options={"samples": 1000000}))["job"]
    wait_for(lambda: client.get("/api/jobs/" + stopped)["progress"] > 0.15)
    begun = time.monotonic()
    client.ask("DELETE", "/api/jobs/" + stopped)
    case("it is stopped in the midst of them, at once (%.0f ms; 200 on a machine that has nothing else to do)" % (
        1e3 * (wait_for(lambda: client.get("/api/jobs/" + stopped)["state"] == "cancelled") and time.monotonic() - begun)),
        client.get("/api/jobs/" + stopped)["state"] == "cancelled" and time.monotonic() - begun < 2, client.get("/api/jobs/" + stopped))

    # Enough to keep both workers busy for a while: the last ones wait in line.
    many = [client.post("/api/jobs", {"work": "compare", "documents": [example("adult")] * 20}) for _ in range(8)]
    over = [client.post("/api/jobs", {"work": "compare", "documents": [example("adult")] * 20}) for _ in range(4)]
    case("the line of one person has an end", is_error(over[-1], 429) or is_error(over[0], 429), over)
    last = "/api/jobs/" + many[-1]["job"]
    case("work can be stopped", client.ask("DELETE", last).status == 204 and
         wait_for(lambda: client.get(last)["state"] in ("cancelled", "done")) and client.get(last)["state"] == "cancelled",
         client.get(last))
    line = client.open()
    line.request("GET", "/api/jobs/" + many[0]["job"] + "/events", headers={"Cookie": client.cookie})
    reply = line.getresponse()
    text = reply.read().decode()  # to the end of the stream
    events = [(block.split("\n")[0], "".join(row[6:] for row in block.split("\n")[1:] if row.startswith("data: ")))
              for block in text.strip().split("\n\n") if block.startswith("event: ")]
    case("events are a stream of the kind browsers read", reply.getheader("Content-Type") == "text/event-stream" and
         events and events[-1][0] == "event: done", text[:300])
    case("each event holds the job", all(json.loads(data)["work"] == "compare" for _, data in events), text[:300])
    shares = [json.loads(data)["progress"] for _, data in events]
    case("progress only grows", shares == sorted(shares) and shares[-1] == 1, shares)
    line.close()
    # A stream that is open does not keep the program from ending.
    slow = client.post("/api/jobs", {"work": "compare", "documents": [example("adult")] * 20})["job"]
    line = client.open()
    line.request("GET", "/api/jobs/" + slow + "/events", headers={"Cookie": client.cookie})
    line.getresponse()
    begun = time.monotonic()
    case("the program ends in the midst of a stream", server.stop() == 0 and time.monotonic() - begun < 15, server.words())


with Server() as running:
    one = running.first_admin()
    people = running.staff(one)
    limbs(people["reader"])
    others(people["technician"])
    sheets(people["reader"])
    refusals(people["reader"])
    case("nobody computes without a session", Client(running).post("/api/compute/signs").status == 401)
    together([one, people["prosthetist"], people["technician"], people["reader"]])
    jobs(running, people["prosthetist"], people["reader"])
cases.end()
