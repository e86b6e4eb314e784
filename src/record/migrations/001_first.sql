-- SPDX-License-Identifier: GPL-3.0-or-later
-- The first schema. @words are what SQLite and PostgreSQL spell differently (src/record/database_*.c).
-- A sealed table ends in `seq` (its newest entry in the chain) and `salt`; a column added to one later must allow NULL,
-- because a NULL leaves the hash of older rows as it was.

CREATE TABLE audit (
    seq @whole PRIMARY KEY,
    at @text NOT NULL,
    who @whole NOT NULL,
    action @text NOT NULL,
    subject @text,
    limb @whole,
    payload_hash @text,
    previous_hash @text NOT NULL,
    entry_hash @text NOT NULL,
    signature @text NOT NULL
) @strict;
CREATE INDEX audit_subject ON audit (subject, seq);
CREATE INDEX audit_limb ON audit (limb, seq);

CREATE TABLE store (
    id @text PRIMARY KEY,
    public_key @text NOT NULL,
    made_at @text NOT NULL,
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;

CREATE TABLE migration (
    number @whole PRIMARY KEY,
    name @text NOT NULL,
    applied_at @text NOT NULL,
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;

CREATE TABLE person (
    id @whole PRIMARY KEY,
    name @text NOT NULL,
    initials @text NOT NULL,
    role @text NOT NULL CHECK (role IN ('prosthetist', 'technician', 'reader', 'admin')),
    license @text,
    password_hash @text,
    pin_hash @text,
    units @text NOT NULL CHECK (units IN ('metric', 'inch')),
    active @whole NOT NULL CHECK (active IN (0, 1)),
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;

CREATE TABLE wearer (
    id @whole PRIMARY KEY,
    label @text,
    pseudonym @text NOT NULL UNIQUE,
    made_at @text NOT NULL,
    removed_at @text,
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;

CREATE TABLE limb (
    id @whole PRIMARY KEY,
    wearer @whole NOT NULL REFERENCES wearer (id),
    version @whole NOT NULL CHECK (version >= 1),
    made_at @text NOT NULL,
    changed_at @text NOT NULL,
    label @text,
    side @text,
    sheet_lot @text,
    stage @text,
    next_action @text,
    next_due @text,
    flags @text,
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;
CREATE INDEX limb_wearer ON limb (wearer);
CREATE INDEX limb_sheet_lot ON limb (sheet_lot, id);
CREATE INDEX limb_next_due ON limb (next_due, id);
CREATE INDEX limb_changed ON limb (changed_at, id);

CREATE TABLE limb_version (
    limb @whole NOT NULL REFERENCES limb (id),
    version @whole NOT NULL CHECK (version >= 1),
    document @text,
    at @text NOT NULL,
    who @whole NOT NULL,
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL,
    PRIMARY KEY (limb, version)
) @strict;

CREATE TABLE fact (
    id @whole PRIMARY KEY,
    limb @whole NOT NULL REFERENCES limb (id),
    kind @text NOT NULL,
    happened_at @text NOT NULL,
    recorded_at @text NOT NULL,
    who @whole NOT NULL,
    body @text,
    withdraws @whole UNIQUE REFERENCES fact (id),
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;
CREATE INDEX fact_limb ON fact (limb, id);
CREATE INDEX fact_kind ON fact (kind, id);

CREATE TABLE attachment (
    id @whole PRIMARY KEY,
    limb @whole NOT NULL REFERENCES limb (id),
    fact @whole REFERENCES fact (id),
    file_hash @text NOT NULL,
    name @text,
    media_type @text NOT NULL,
    bytes @whole NOT NULL,
    at @text NOT NULL,
    who @whole NOT NULL,
    seq @whole NOT NULL UNIQUE REFERENCES audit (seq),
    salt @text NOT NULL
) @strict;
CREATE INDEX attachment_limb ON attachment (limb, id);
CREATE INDEX attachment_file ON attachment (file_hash);

-- Working rows: sealed with a key of the store, without entries in the chain.

CREATE TABLE sign_in (
    person @whole PRIMARY KEY REFERENCES person (id),
    failures @whole NOT NULL,
    locked_until @text,
    seal @text NOT NULL
) @strict;

CREATE TABLE session (
    token_hash @text PRIMARY KEY,
    person @whole NOT NULL REFERENCES person (id),
    csrf @text NOT NULL,
    made_at @text NOT NULL,
    expires_at @text NOT NULL,
    device @text,
    seal @text NOT NULL
) @keyed;
CREATE INDEX session_person ON session (person);
CREATE INDEX session_expires ON session (expires_at);

CREATE TABLE repeat_key (
    person @whole NOT NULL,
    key @text NOT NULL,
    request @text NOT NULL,
    status @whole NOT NULL,
    answer @text,
    at @text NOT NULL,
    seal @text NOT NULL,
    PRIMARY KEY (person, key)
) @keyed;
CREATE INDEX repeat_key_at ON repeat_key (at);
