-- The set of partner lines that a choir composed last, so that what goes on a day is what was looked at.
-- Every column stands in bot/privacy/play_tables.py.

CREATE TABLE partner_sets (
    choir_id TEXT PRIMARY KEY REFERENCES choirs ON DELETE CASCADE,
    set_id TEXT NOT NULL,
    partners TEXT NOT NULL
) STRICT;
