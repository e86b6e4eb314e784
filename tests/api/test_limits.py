#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bounds on size, number and time; HTTPS with an own certificate; memory that stays flat; repeats."""
import os
import socket
import ssl
import subprocess
import sys
import time

sys.dont_write_bytecode = True
from api_client import LONG, PROGRAM, Cases, Client, Server, example, is_error

cases = Cases()
case = cases.case


def raw(server, data, wait=10, close=True):
    """What comes back for bytes as they are."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=wait) as line:
        try:
            line.sendall(data)
            if close:
                line.shutdown(socket.SHUT_WR)
            answer = b""
            while True:
                part = line.recv(65536)
                if not part:
                    return answer
                answer += part
        except OSError:
            return b"closed"


def sizes(server, client):
    huge = client.ask("POST", "/api/compute/mass", b"{" + b" " * (9 * 1024 * 1024), Content_Type="application/json")
    case("a body beyond the bound is refused by its length", is_error(huge, 413), huge)
    head = ("POST /api/compute/mass HTTP/1.1\r\nHost: localhost\r\nCookie: %s\r\nX-CSRF-Token: %s\r\n"
            "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n" % (client.cookie, client.csrf)).encode()
    block = b"100000\r\n" + b" " * 0x100000 + b"\r\n"
    answer = raw(server, head + block * 9 + b"0\r\n\r\n")
    case("and so is one that does not say how long it will be", b" 413 " in answer[:40], answer[:200])
    deep = client.ask("POST", "/api/compute/mass", "[" * 100000, Content_Type="application/json")
    case("JSON nested without end is refused", is_error(deep, 400), deep)
    long_line = raw(server, b"GET /api/" + b"a" * 100000 + b" HTTP/1.1\r\nHost: localhost\r\n\r\n")
    case("so is an address without end", any(code in long_line[:40] for code in (b" 414 ", b" 431 ", b" 413 ", b" 404 ")) or
         long_line == b"closed", long_line[:100])
    fine = client.get("/api/me")
    case("and the server goes on", fine.status == 200, fine)
    unknown = client.get("/api/nothing/here")
    case("what is not there is not found", is_error(unknown, 404), unknown)
    wrong = client.ask("PATCH", "/api/people", {})
    case("another method is refused and the right ones are named", is_error(wrong, 405) and
         set(wrong.headers["Allow"].split(", ")) == {"GET", "POST"}, (wrong, wrong.headers.get("Allow")))
    page = client.get("/")
    again = client.get("/", If_None_Match=page.headers["ETag"])
    case("the page is there, and not sent twice", page.status == 200 and b"<!doctype html>" in page.body.lower() and
         again.status == 304 and again.body == b"", again)
    packed = client.get("/page.js", Accept_Encoding="gzip")
    case("its files come packed", packed.status == 404 or packed.headers["Content-Encoding"] == "gzip", packed.headers)


def many(server, client):
    idle = []
    try:
        for _ in range(90):
            idle.append(socket.create_connection(("127.0.0.1", server.port), timeout=5))
    except OSError:
        pass
    time.sleep(0.3)
    case("idle connections without end do not bring it down", server.process.poll() is None)
    for line in idle:
        line.close()
    time.sleep(0.3)
    client.line = None
    case("and it answers once they are gone", client.get("/api/me").status == 200)
    if LONG:
        line = socket.create_connection(("127.0.0.1", server.port), timeout=60)
        line.sendall(b"GET /api/about HTTP/1.1\r\nHost: loc")
        begun = time.monotonic()
        line.settimeout(60)
        while line.recv(1000):
            pass
        case("a client that stops in mid-word is hung up on", 5 < time.monotonic() - begun < 45, time.monotonic() - begun)


def repeats(client, reader):
    body = {"name": "once only", "initials": "OO", "role": "reader", "password": "long enough words"}
    first = client.post("/api/people", body, Idempotency_Key="key-0000-0001")
    second = client.post("/api/people", body, Idempotency_Key="key-0000-0001")
    case("the same request sent again gets the first answer", first.status == second.status == 201 and
         first.body == second.body and second.headers["Idempotency-Replayed"] == "true" and
         first.headers["Idempotency-Replayed"] is None, (first, second))
    names = [p["name"] for p in client.get("/api/people")["people"]]
    case("and nothing happens twice", names.count("once only") == 1, names)
    other = client.post("/api/people", dict(body, name="another"), Idempotency_Key="key-0000-0001")
    case("the same key with another body is refused", is_error(other, 422, "Idempotency-Key"), other)
    bad = client.post("/api/people", body, Idempotency_Key="short")
    case("a key that is none is refused", is_error(bad, 422, "Idempotency-Key"), bad)
    failed = client.post("/api/people", dict(body, role="wizard"), Idempotency_Key="key-0000-0002")
    mended = client.post("/api/people", dict(body, name="mended"), Idempotency_Key="key-0000-0002")
    case("a refusal does not use the key up", failed.status == 422 and mended.status == 201, mended)


def memory(server, client):
    """Requests of several kinds, again and again; what the process holds may not grow with their number."""
    rounds = 20000 if LONG else 400
    document = example("child")
    def one_round():
        client.get("/api/me")
        client.get("/api/people")
        client.post("/api/compute/mass", {"document": document})
        client.post("/api/compute/mass", {"document": {"format": "standfast-limb/1"}})
        client.get("/api/limbs?search=a")
    for _ in range(200):
        one_round()
    before = server.memory_kb()
    for number in range(rounds):
        if number % 50 == 0:
            client.line = None  # a new connection, and with it a new thread, now and then
        one_round()
    after = server.memory_kb()
    case("memory stays flat over %d requests (%d kB, then %d kB)" % (5 * rounds, before, after),
         after - before < (300000 if server.sanitized() else 4096), (before, after))


def https():
    with Server("--own-certificate") as server:
        case("with an own certificate it speaks HTTPS", server.tls, server.greeting)
        admin = server.first_admin()
        case("sessions work there", admin.get("/api/me").status == 200)
        cookie = Client(server).sign_in("admin one").headers["Set-Cookie"]
        case("their cookie never leaves it in the clear", "Secure" in cookie and cookie.startswith("__Host-"), cookie)
        case("browsers are told to stay with HTTPS", "max-age" in (admin.get("/").headers["Strict-Transport-Security"] or ""))
        pem = ssl.get_server_certificate(("127.0.0.1", server.port))
        text = subprocess.run(["openssl", "x509", "-noout", "-text", "-fingerprint", "-sha256"], input=pem, text=True,
                              capture_output=True)
        if text.returncode == 0:
            case("openssl reads the certificate: P-256, names of loopback", "prime256v1" in text.stdout and
                 "IP Address:127.0.0.1" in text.stdout and "DNS:localhost" in text.stdout, text.stdout)
            case("the printed fingerprint is the one that a browser shows",
                 text.stdout.split("Fingerprint=")[1].split()[0] in server.words(), server.words())
        folder = server.store + ".files/tls"
        case("its key is its owner's alone", os.stat(folder + "/key.pem").st_mode & 0o777 == 0o600)
        trusting = ssl.create_default_context(cafile=folder + "/cert.pem")
        with socket.create_connection(("127.0.0.1", server.port)) as plain, \
                trusting.wrap_socket(plain, server_hostname="127.0.0.1") as line:
            case("who trusts it connects without complaint", line.version() in ("TLSv1.2", "TLSv1.3"), line.version())
        case("plain HTTP gets nothing there", b"200" not in raw(server, b"GET /api/about HTTP/1.1\r\nHost: localhost\r\n\r\n", 5)[:20])
        kept = pem
        server.stop()
        server.start()
        case("the certificate stays the same at the next start",
             ssl.get_server_certificate(("127.0.0.1", server.port)) == kept)
    with Server("--address", "0.0.0.0", "--own-certificate") as server:
        case("off loopback it starts with TLS", server.tls, server.greeting)
    other = subprocess.run([PROGRAM, "serve", "--address", "0.0.0.0", "--store", "/nowhere/x.sqlite"], capture_output=True, text=True)
    case("and not without", other.returncode == 2 and "--own-certificate" in other.stderr, other)


with Server() as running:
    one = running.first_admin()
    people = running.staff(one)
    sizes(running, people["reader"])
    many(running, people["reader"])
    repeats(one, people["reader"])
    memory(running, people["technician"])
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        busy = subprocess.run([PROGRAM, "serve", "--store", running.store + "2", "--port", str(taken.getsockname()[1])],
                              capture_output=True, text=True)
        case("a port that is taken is named", busy.returncode == 5 and "port" in busy.stderr, busy)
https()
cases.end()
