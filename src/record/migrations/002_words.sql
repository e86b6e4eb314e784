-- SPDX-License-Identifier: GPL-3.0-or-later
-- Search by the beginnings of words without reading every limb; where imported rows came from; files that were removed
-- with their wearer's data. The words of limbs that are there already are filled in by src/record/migration.c.

CREATE TABLE limb_word (
    word @text NOT NULL,
    limb @whole NOT NULL REFERENCES limb (id),
    PRIMARY KEY (word, limb)
) @keyed;
CREATE INDEX limb_word_limb ON limb_word (limb, word);

ALTER TABLE limb ADD COLUMN origin @text;
ALTER TABLE fact ADD COLUMN origin @text;
ALTER TABLE attachment ADD COLUMN removed_at @text;
