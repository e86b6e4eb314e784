# SPDX-License-Identifier: GPL-3.0-or-later
"""Drives the real server over HTTP: starts it on a store of its own, signs people in, sends requests, counts cases."""
import http.client
import json
import os
import pathlib
import re
import shutil
import signal
import ssl
import subprocess
import sys
import tempfile
import time

PROGRAM = sys.argv[1] if len(sys.argv) > 1 else "build/standfast"
ROOT = pathlib.Path(__file__).resolve().parents[2]
LONG = os.environ.get("TAP_LONG") == "1"


class Answer:
    def __init__(self, status, headers, body):
        self.status, self.headers, self.body = status, headers, body

    @property
    def json(self):
        return json.loads(self.body)

    def __getitem__(self, key):
        return self.json[key]

    def __repr__(self):
        return "%s %s" % (self.status, self.body[:400])


class Client:
    """One tablet: a cookie, the CSRF token, one connection that is kept."""

    def __init__(self, server):
        self.server, self.cookie, self.csrf, self.line = server, None, None, None

    def open(self):
        if self.server.tls:
            context = ssl.create_default_context()
            context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
            return http.client.HTTPSConnection("127.0.0.1", self.server.port, timeout=60, context=context)
        return http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=60)

    def ask(self, method, path, body=None, **headers):
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if isinstance(body, (dict, list)):
            body = json.dumps(body)
            sent.setdefault("Content-Type", "application/json")
        if self.cookie:
            sent.setdefault("Cookie", self.cookie)
        if self.csrf and method not in ("GET", "HEAD"):
            sent.setdefault("X-CSRF-Token", self.csrf)
        sent = {name: value for name, value in sent.items() if value is not None}
        for again in (True, False):
            self.line = self.line or self.open()
            try:
                self.line.request(method, path, body, sent)
                reply = self.line.getresponse()
                data = reply.read()
                break
            except (http.client.RemoteDisconnected, ConnectionResetError, BrokenPipeError):
                self.line = None  # a kept connection may have been closed in the meantime
                if not again or method != "GET":
                    raise
        if reply.getheader("Connection") == "close":
            self.line.close()
            self.line = None
        for line in reply.headers.get_all("Set-Cookie") or []:
            self.cookie = line.split(";")[0]
        return Answer(reply.status, reply.headers, data.decode("utf-8", "surrogateescape")
                      if "json" in (reply.getheader("Content-Type") or "") else data)

    def get(self, path, **headers):
        return self.ask("GET", path, **headers)

    def post(self, path, body=None, **headers):
        return self.ask("POST", path, {} if body is None else body, **headers)

    def put(self, path, body=None, **headers):
        return self.ask("PUT", path, {} if body is None else body, **headers)

    def welcome(self, answer):
        if answer.status == 200:
            self.csrf = answer["csrf"]
        return answer

    def sign_in(self, name, password="long enough words"):
        return self.welcome(self.post("/api/sign-in", {"name": name, "password": password}))

    def switch(self, person, pin):
        return self.welcome(self.post("/api/switch", {"person": person, "pin": pin}))


class Server:
    """A store in a folder of its own, and the program serving it."""

    def __init__(self, *options, folder=None, store=None):
        self.folder = folder or tempfile.mkdtemp(prefix="standfast-api-")
        self.own = folder is None
        self.store = store or os.path.join(self.folder, "shop.sqlite")
        self.options, self.process, self.tls = options, None, False
        self.people = {}

    def start(self):
        self.log = open(os.path.join(self.folder, "serve.log"), "ab")
        self.process = subprocess.Popen([PROGRAM, "serve", "--store", self.store, "--port", "0", *self.options],
                                        stdout=subprocess.PIPE, stderr=self.log, text=True)
        line = self.process.stdout.readline()
        found = re.search(r"(https?)://[^ ]*?:(\d+)/", line)
        if not found:
            raise SystemExit("Bail out! the server does not start: %s %s" % (line, self.words()))
        self.tls, self.port, self.greeting = found.group(1) == "https", int(found.group(2)), line
        return self

    def words(self):
        return pathlib.Path(self.folder, "serve.log").read_text(errors="replace")

    def first_admin(self):
        line = self.process.stdout.readline()
        token = re.search(r"first-admin=([0-9a-f]+)", line).group(1)
        client = Client(self)
        answer = client.welcome(client.post("/api/first-admin", {
            "token": token, "name": "admin one", "initials": "A1", "password": "long enough words", "pin": "1111"}))
        assert answer.status == 200, answer
        self.people["admin"] = answer["person"]["id"]
        self.token = token
        return client

    def staff(self, admin):
        """One person of every role (name = role), a second technician, and a client signed in for each."""
        clients = {"admin": admin}
        for role in ("prosthetist", "technician", "reader"):
            added = admin.post("/api/people", {"name": role, "initials": role[:2].upper(), "role": role, "pin": "2222",
                                               "password": "long enough words",
                                               **({"licence": "invented 1"} if role == "prosthetist" else {})})
            assert added.status == 201, added
            self.people[role] = added["person"]["id"]
            clients[role] = Client(self)
            assert clients[role].sign_in(role).status == 200
        return clients

    def stop(self, how=signal.SIGTERM):
        if self.process and self.process.poll() is None:
            self.process.send_signal(how)
            try:
                self.process.wait(30)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        if self.process:
            self.process.stdout.close()
            self.log.close()
        return self.process.returncode if self.process else None

    def sanitized(self):
        """Whether it was built with the address sanitizer, which keeps freed memory for a while."""
        return "libasan" in pathlib.Path("/proc/%d/maps" % self.process.pid).read_text()

    def memory_kb(self):
        text = pathlib.Path("/proc/%d/status" % self.process.pid).read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", text).group(1))

    def __enter__(self):
        return self.start()

    def __exit__(self, *_):
        if self.stop() != 0:  # a crash, or a sanitizer's report at the end
            print("not ok - the program ended with %s\n# %s" % (self.process.returncode, self.words().replace("\n", "\n# ")))
            sys.exit(1)
        if self.own:
            shutil.rmtree(self.folder, ignore_errors=True)


class Cases:
    """TAP: every `case` is one line; the plan comes last."""

    def __init__(self):
        self.number = self.failed = 0

    def case(self, what, good, seen=""):
        self.number += 1
        self.failed += not good
        print("%sok %d - %s" % ("" if good else "not ", self.number, what.replace("\n", " ")), flush=True)
        if not good:
            print("# seen: %s" % str(seen)[:1500].replace("\n", "\n# "), flush=True)

    def end(self):
        print("1..%d" % self.number)
        sys.exit(1 if self.failed else 0)


def command(*arguments):
    done = subprocess.run([PROGRAM, *arguments, "--json"], capture_output=True, text=True)
    return json.loads(done.stdout) if done.returncode == 0 else None


SKIP = {"inputs_sha256"}  # the command hashes the file's own bytes, the server what it was sent


def same(got, wanted, path=""):
    """The first place where two results differ, or None."""
    if isinstance(wanted, dict):
        for key in sorted(set(wanted) | set(got if isinstance(got, dict) else ())):
            if key in SKIP:
                continue
            if not isinstance(got, dict) or key not in got or key not in wanted:
                return "%s.%s" % (path, key)
            found = same(got[key], wanted[key], "%s.%s" % (path, key))
            if found:
                return found
        return None
    if isinstance(wanted, list):
        if not isinstance(got, list) or len(got) != len(wanted):
            return path + "[]"
        for number, (one, other) in enumerate(zip(got, wanted)):
            found = same(one, other, "%s[%d]" % (path, number))
            if found:
                return found
        return None
    if isinstance(wanted, float) or isinstance(got, float):
        near = abs(got - wanted) <= 1e-7 * max(1, abs(wanted)) if got is not None and wanted is not None else got == wanted
        return None if near else "%s: %s, not %s" % (path, got, wanted)
    return None if got == wanted else "%s: %s, not %s" % (path, got, wanted)


def example(name="adult"):
    return json.loads((ROOT / "data/examples" / (name + ".json")).read_text())


def is_error(answer, status, field=None):
    """The form of every error: status, field, what, mend."""
    try:
        error = answer["error"]
    except (ValueError, KeyError):
        return False
    return answer.status == status and bool(error["what"]) and bool(error["mend"]) and (
        field is None or error["field"] == field)


def wait_for(what, seconds=20):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.05)
    return False
