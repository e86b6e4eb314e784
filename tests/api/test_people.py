#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""First admin, signing in, roles and routes, PIN switch, lock-out, rest, foreign pages."""
import re
import subprocess
import sys
import time

sys.dont_write_bytecode = True
from api_client import PROGRAM, ROOT, Cases, Client, Server, is_error

cases = Cases()
case = cases.case


def routes():
    """Rows of the printed table: method, path, who."""
    text = subprocess.run([PROGRAM, "serve", "--print-api"], capture_output=True, text=True).stdout
    for line in text.splitlines()[2:]:
        method, path, who, body, _ = [cell.strip() for cell in line.strip("|").split("|")]
        yield method, path.strip("`"), who, body


def the_page_is_the_table():
    text = subprocess.run([PROGRAM, "serve", "--print-api"], capture_output=True, text=True).stdout
    page = (ROOT / "docs/api.md").read_text()
    case("docs/api.md ends with the table that the program prints", page.endswith(text), text[-300:])
    rows = list(routes())
    case("the table holds no route twice", len({(m, p) for m, p, *_ in rows}) == len(rows) > 15, len(rows))


def first_admin(server):
    stranger = Client(server)
    case("before anybody is there, about says so", stranger.get("/api/about")["first_admin"] is True)
    wrong = stranger.post("/api/first-admin", {"token": "0" * 64, "name": "x", "initials": "X", "password": "long enough words"})
    case("a wrong token makes no admin", is_error(wrong, 403, "token"), wrong)
    admin = server.first_admin()
    again = stranger.post("/api/first-admin", {"token": server.token, "name": "y", "initials": "Y", "password": "long enough words"})
    case("the link is good once", is_error(again, 403, "token"), again)
    case("about then asks for nobody", stranger.get("/api/about")["first_admin"] is False)
    return admin


def matrix(server, admin):
    """Every route with every role: allowed ones get past permission, others do not."""
    words = {"prosthetist": "prosthetist", "technician": "technician", "reader": "reader", "admin": "admin"}
    clients = server.staff(admin)
    wrong, count = [], 0
    for method, path, who, _ in routes():
        nobody = Client(server).ask(method, re.sub(r"{\w+}", "1", path), {} if method != "GET" else None)
        open_to_all = who == "anyone"
        if (nobody.status == 401) == open_to_all and path != "/api/sign-in":
            wrong.append((method, path, "nobody", nobody.status))
        if open_to_all or path == "/api/sign-out":
            continue
        for role in words:
            client = clients[role]
            own = str(server.people[role]) if path.startswith("/api/people/") else "999999"
            answer = client.ask(method, re.sub(r"{\w+}", own, path), {} if method != "GET" else None)
            may = who == "all staff" or role in who.split(", ")
            count += 1
            if (answer.status == 403) == may or answer.status == 401 or answer.status >= 500:
                wrong.append((method, path, role, answer.status))
    case("every role meets every route as the table says (%d pairs)" % count, not wrong and count > 50, wrong)
    # What no table may ever say, written down here a second time.
    quiet = ("/api/switch", "/api/sign-out", "/api/people/{id}", "/api/jobs", "/api/jobs/{id}", "/api/incidents",
             "/api/limbs/{id}/facts")  # what takes a limb out of use is everybody's; test_fact_roles.py tries every kind
    bad = [(m, p) for m, p, who, _ in routes() if m != "GET" and (who == "all staff" or "reader" in who)
           and p not in quiet and not p.startswith("/api/compute/")]
    case("a reader writes nothing but facts", not bad, bad)
    case("only admins add people", [w for m, p, w, _ in routes() if (m, p) == ("POST", "/api/people")] == ["admin"])
    case("strangers reach three doors only", sorted(p for m, p, w, _ in routes() if w == "anyone") ==
         ["/api/about", "/api/first-admin", "/api/sign-in"])
    return clients


def people(server, clients):
    admin, reader = clients["admin"], clients["reader"]
    own = server.people["reader"]
    case("a reader may choose inches", reader.put("/api/people/%d" % own, {"units": "inch"})["person"]["units"] == "inch")
    case("but not another role", is_error(reader.put("/api/people/%d" % own, {"role": "admin"}), 403, "role"))
    case("nor another person's units", is_error(reader.put("/api/people/%d" % server.people["admin"], {"units": "inch"}), 403))
    no_old = reader.put("/api/people/%d" % own, {"password": "another long one"})
    case("a new password takes the old one along", is_error(no_old, 403, "old_password"), no_old)
    done = reader.put("/api/people/%d" % own, {"password": "another long one", "old_password": "long enough words"})
    case("with the old one it goes", done.status == 200, done)
    case("the new one then opens", Client(server).sign_in("reader", "another long one").status == 200)
    case("and the old one does not", Client(server).sign_in("reader").status == 401)
    last = admin.put("/api/people/%d" % server.people["admin"], {"role": "reader"})
    case("the last admin stays one", is_error(last, 422, "role"), last)
    twice = admin.post("/api/people", {"name": "Reader", "initials": "R2", "role": "reader", "password": "long enough words"})
    case("a name is one person's", is_error(twice, 422), twice)
    short = admin.post("/api/people", {"name": "short", "initials": "S", "role": "reader", "password": "short", "pin": "12ab"})
    case("a short password and a wrong PIN are named", is_error(short, 422) and "password" in short["error"]["what"], short)
    bad = admin.post("/api/people", {"name": "w", "initials": "W", "role": "wizard", "password": "long enough words", "hat": 1})
    case("an unknown role and an unknown field are both named",
         is_error(bad, 422) and {p["field"] for p in bad["error"]["problems"]} == {"role", "hat"}, bad)
    for field in ("name", "initials"):
        blank = admin.post("/api/people", dict({"name": "blank", "initials": "B", "role": "reader", "password": "long enough words"},
                                               **{field: "  "}))
        case("blanks are no %s" % field, is_error(blank, 422, field), blank)
    path = "/api/people/%d" % server.people["prosthetist"]
    case("a licence stays when it is not spoken of", admin.put(path, {"units": "metric"})["person"]["licence"] == "invented 1")
    case("an admin takes it back with null", admin.put(path, {"licence": None})["person"]["licence"] is None)
    case("and gives one", admin.put(path, {"licence": "invented 1"})["person"]["licence"] == "invented 1")
    away = admin.put("/api/people/%d" % own, {"active": False})
    case("who has left is signed out everywhere", away.status == 200 and reader.get("/api/me").status == 401)
    case("and cannot sign in", Client(server).sign_in("reader", "another long one").status == 401)


def tokens(server, clients):
    technician = clients["technician"]
    bare = technician.ask("PUT", "/api/people/%d" % server.people["technician"], {"units": "metric"}, X_CSRF_Token=None)
    own = {"units": "metric"}
    path = "/api/people/%d" % server.people["technician"]
    technician.csrf, kept = None, technician.csrf
    bare = technician.put(path, own)
    technician.csrf = "0" * 32
    stale = technician.put(path, own)
    technician.csrf = kept
    case("without its token nothing is written", is_error(bare, 403, "X-CSRF-Token"), bare)
    case("nor with a wrong one", is_error(stale, 403, "X-CSRF-Token"), stale)
    foreign = technician.put(path, own, Origin="http://elsewhere.example")
    case("a page of another site is refused", is_error(foreign, 403, "Origin"), foreign)
    near = technician.put(path, own, Origin="http://127.0.0.1:%d" % server.port, Sec_Fetch_Site="same-origin")
    case("our own page is not", near.status == 200, near)
    cross = technician.put(path, own, Sec_Fetch_Site="cross-site")
    case("nor does a browser's own word help the foreign page", is_error(cross, 403), cross)
    rebound = technician.get("/api/me", Host="elsewhere.example")
    case("on loopback no foreign name is answered", is_error(rebound, 403, "Host"), rebound)
    signed = Client(server).sign_in("technician")
    cookie = signed.headers["Set-Cookie"]
    case("the cookie is out of reach of scripts and other sites",
         "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Path=/" in cookie, cookie)
    policy = technician.get("/").headers["Content-Security-Policy"]
    case("the page runs no inline script or style", "unsafe-inline" not in policy and "default-src 'none'" in policy, policy)
    case("answers are not kept by caches", technician.get("/api/me").headers["Cache-Control"] == "no-store")


def pins(server, clients):
    technician = clients["technician"]
    to = server.people["prosthetist"]
    old = technician.cookie
    wrong = technician.switch(to, "9999")
    case("a wrong PIN changes nobody", is_error(wrong, 403, "pin") and
         technician.get("/api/me")["person"]["role"] == "technician", wrong)
    right = technician.switch(to, "2222")
    case("the right PIN hands the tablet over", right.status == 200 and right["person"]["role"] == "prosthetist", right)
    stale = Client(server)
    stale.cookie = old
    case("the session before is gone", stale.get("/api/me").status == 401)
    back = technician.switch(server.people["technician"], "2222")
    case("and back", back["person"]["role"] == "technician")


def lock_out(server, clients):
    prosthetist, technician = clients["prosthetist"], clients["technician"]
    thief = Client(server)
    for _ in range(5):
        thief.sign_in("prosthetist", "guess guess guess")
    shut = thief.sign_in("prosthetist")
    case("five wrong tries shut the door, even to the right password",
         is_error(shut, 429) and int(shut.headers["Retry-After"]) > 0, shut)
    mine = prosthetist.get("/api/me")
    case("who is in mid-trial stays in, and signing waits",
         mine.status == 200 and mine["signing"] is False and mine["signing_why"], mine)
    case("everybody sees until when", any(p["locked_until"] for p in technician.get("/api/people")["people"]))
    pin = technician.switch(server.people["prosthetist"], "2222")
    case("no PIN gets round it, and says that facts go in", is_error(pin, 423) and "facts" in pin["error"]["what"], pin)
    case("the tablet stays with whoever has it", technician.get("/api/me")["person"]["role"] == "technician")
    clients["admin"].put("/api/people/%d" % server.people["prosthetist"], {"unlock": True})
    case("an admin opens it again", prosthetist.get("/api/me")["signing"] is True)
    for _ in range(5):
        technician.switch(server.people["prosthetist"], "9999")
    case("wrong PINs shut it too", prosthetist.get("/api/me")["signing"] is False)
    time.sleep(2.1)
    case("the lock opens by itself after its time", prosthetist.get("/api/me")["signing"] is True
         and Client(server).sign_in("prosthetist").status == 200)


def rest(server, clients):
    prosthetist = clients["prosthetist"]
    case("a session that was just begun may sign", prosthetist.switch(server.people["prosthetist"], "2222")["signing"] is True)
    time.sleep(1.6)
    mine = prosthetist.get("/api/me")
    case("a session that rested may not sign", mine.status == 200 and mine["signing"] is False and "PIN" in mine["signing_why"], mine)
    case("and asking again does not wake it", prosthetist.get("/api/me")["signing"] is False)
    case("the own PIN does", prosthetist.switch(server.people["prosthetist"], "2222")["signing"] is True)


def session_end():
    with Server("--session-s", "1") as server:
        admin = server.first_admin()
        case("a session is good at first", admin.get("/api/me").status == 200)
        time.sleep(1.2)
        case("and ends", admin.get("/api/me").status == 401)


the_page_is_the_table()
with Server("--lock-s", "2") as running:
    one = first_admin(running)
    all_clients = matrix(running, one)
    tokens(running, all_clients)
    pins(running, all_clients)
    lock_out(running, all_clients)
    people(running, all_clients)
    out = all_clients["technician"]
    case("signing out ends the session", out.ask("POST", "/api/sign-out").status == 204 and out.get("/api/me").status == 401)
    case("the program ends when told, without complaint", running.stop() == 0, running.words())
with Server("--rest-s", "1.5") as running:
    one = running.first_admin()
    rest(running, running.staff(one))
session_end()
cases.end()
