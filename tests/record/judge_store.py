#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judges the store from outside: the chain and the hashes of its rows are computed a second time with Python's sqlite3 and
hashlib, from the words of docs/record.md; the proof's JSON is held against docs/store.schema.json.

Usage: judge_store.py PROGRAM ROOT
"""
import hashlib
import json
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

import jsonschema

SEALED = ["store", "migration", "person", "wearer", "limb", "limb_version", "fact", "attachment"]
KEYS = {"limb_version": 2}
results = []


def check(good, what):
    results.append((bool(good), what))


def field(name, value):
    if value is None:
        return b""
    data = str(value).encode()
    return b"%s=%d:%s;" % (name.encode(), len(data), data)


def blake(data, key=b""):
    return hashlib.blake2b(data, digest_size=32, key=key).hexdigest()


def judge_chain(db):
    previous, count = "0" * 64, 0
    names = ["seq", "at", "who", "action", "subject", "limb", "payload_hash", "previous_hash"]
    good = True
    for row in db.execute("SELECT %s, entry_hash FROM audit ORDER BY seq" % ", ".join(names)):
        count += 1
        good &= row[0] == count and row[7] == previous
        previous = blake(b"audit;" + b"".join(field(n, v) for n, v in zip(names, row)))
        good &= row[8] == previous
    check(good and count > 10, "the chain of %d entries has the hashes that its words give" % count)


def judge_rows(db, order):
    for table in SEALED:
        good, count = True, 0
        columns = order[table]
        there = [c[1] for c in db.execute("PRAGMA table_info(%s)" % table)]
        good &= set(columns) | {"seq", "salt"} == set(there)
        for row in db.execute("SELECT %s, seq, salt FROM %s" % (", ".join(columns), table)):
            count += 1
            content = table.encode() + b";" + b"".join(field(n, v) for n, v in zip(columns, row))
            subject = "/".join([table] + [str(v) for v in row[: KEYS.get(table, 1)]])
            entry = db.execute("SELECT subject, payload_hash FROM audit WHERE seq = ?", [row[-2]]).fetchone()
            newest = db.execute("SELECT max(seq) FROM audit WHERE subject = ? AND payload_hash IS NOT NULL",
                                [subject]).fetchone()[0]
            good &= entry == (subject, blake(content, bytes.fromhex(row[-1]))) and newest == row[-2]
        check(good, "%d rows of %s have the hashes that their words give" % (count, table))


def sealed_order(root):
    """Tables and columns in the order in which src/record/sealed.c hashes them."""
    text = (root / "src/record/sealed.c").read_text()
    found = {}
    for table, columns in re.findall(r'\{\s*"(\w+)",\s*COLUMNS\(([^)]*)\)', text):
        found[table] = re.findall(r'"(\w+)"', columns)
    return found


def judge_old_store(program, root, folder):
    """The kept store of the first schema, brought up to date by the program: it has rows in every table."""
    store, files = folder + "/old.sqlite", pathlib.Path(folder, "old.sqlite.files")
    words = {"@whole": "INTEGER", "@text": "TEXT", "@strict": "STRICT", "@keyed": "STRICT, WITHOUT ROWID"}
    schema = (root / "src/record/migrations/001_first.sql").read_text()
    for word, means in words.items():
        schema = schema.replace(word, means)
    db = sqlite3.connect(store)
    db.executescript("PRAGMA application_id = 0x53544644;" + schema)
    db.executescript((root / "tests/data/stores/schema_1/rows.sql").read_text())
    db.close()
    shutil.copytree(root / "tests/data/stores/schema_1", files, ignore=shutil.ignore_patterns("rows.sql"))
    (files / "signing.key").chmod(0o600)
    done = subprocess.run([program, "store", "verify", "--store", store], capture_output=True, text=True)
    check(done.returncode == 0, "the program proves the old store " + done.stderr)
    db = sqlite3.connect(store)
    judge_chain(db)
    judge_rows(db, sealed_order(root))
    check(db.execute("SELECT count(*) FROM fact").fetchone()[0] == 7, "its facts are there")


def main(program, root):
    root = pathlib.Path(root)
    schema = json.loads((root / "docs/store.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    with tempfile.TemporaryDirectory() as folder:
        store = folder + "/s.sqlite"

        def run(*arguments):
            return subprocess.run([program, "store", *arguments, "--store", store], capture_output=True, text=True)

        for example in ("adult", "child", "heavy-adult"):
            done = run("import", str(root / "data/examples" / (example + ".json")))
            check(done.returncode == 0, "%s is taken in %s" % (example, done.stderr))
        done = run("export", "2", "--to", folder + "/two.tar")
        check(done.returncode == 0, "an export " + done.stderr)
        db = sqlite3.connect(store)
        judge_chain(db)
        judge_rows(db, sealed_order(root))
        done = run("verify", "--json")
        clean = json.loads(done.stdout)
        jsonschema.validate(clean, schema)
        check(done.returncode == 0 and clean["clean"] and clean["first_broken"] is None, "a clean proof")
        last = db.execute("SELECT seq, entry_hash FROM audit ORDER BY seq DESC LIMIT 1").fetchone()
        check((clean["head"]["entry"], clean["head"]["hash"]) == last, "the proof names the newest entry")
        seq = db.execute("SELECT seq FROM limb_version WHERE limb = 2").fetchone()[0]
        db.execute("UPDATE limb_version SET document = replace(document, 'standfast-limb', 'standfast-limp') WHERE limb = 2")
        db.execute("UPDATE limb SET side = 'up' WHERE id = 3")
        db.commit()
        done = run("verify", "--json")
        broken = json.loads(done.stdout)
        jsonschema.validate(broken, schema)
        check(done.returncode == 5 and not broken["clean"] and broken["first_broken"]["entry"] == seq,
              "the first broken entry is %d and not %s" % (seq, broken["first_broken"]))
        check(broken["problem_count"] >= 2 and len(broken["problems"]) == broken["problem_count"], "every problem is told")
        check("entry %d" % seq in done.stderr, "the sentence names it")
        judge_old_store(program, root, folder)
    print("1..%d" % len(results))
    for number, (good, what) in enumerate(results, 1):
        print("%s %d - %s" % ("ok" if good else "not ok", number, what))
    return 0 if all(good for good, _ in results) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2]))
