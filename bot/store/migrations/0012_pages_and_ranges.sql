-- How a choir's pages are written out beside the notes, its study clock, and when each part's range
-- was tested. Every column stands in bot/privacy/fields.py.

ALTER TABLE choirs ADD COLUMN under_notes TEXT NOT NULL DEFAULT '';

ALTER TABLE choirs ADD COLUMN rhythm_names TEXT NOT NULL DEFAULT 'ta-tika';

ALTER TABLE choirs ADD COLUMN large_print INTEGER NOT NULL DEFAULT 0 CHECK (large_print IN (0, 1));

ALTER TABLE choirs ADD COLUMN one_a_line INTEGER NOT NULL DEFAULT 0 CHECK (one_a_line IN (0, 1));

ALTER TABLE choirs ADD COLUMN rhythm_only INTEGER NOT NULL DEFAULT 0 CHECK (rhythm_only IN (0, 1));

ALTER TABLE choirs ADD COLUMN measure_numbers INTEGER NOT NULL DEFAULT 1
    CHECK (measure_numbers IN (0, 1));

ALTER TABLE choirs ADD COLUMN study_s INTEGER CHECK (study_s BETWEEN 5 AND 900);

CREATE TABLE range_tests (
    choir_id TEXT NOT NULL REFERENCES choirs (choir_id) ON DELETE CASCADE,
    voice TEXT NOT NULL CHECK (voice IN ('treble', 'changing', 'baritone')),
    tested_on TEXT NOT NULL,
    low TEXT NOT NULL,
    high TEXT NOT NULL,
    PRIMARY KEY (choir_id, voice, tested_on)
) STRICT, WITHOUT ROWID;
