-- A choir's own rules of the match, where the desk keeps some; a match keeps those that it began with.
-- Every column stands in bot/privacy/match_tables.py.

CREATE TABLE match_rules (
    choir_id TEXT PRIMARY KEY REFERENCES choirs ON DELETE CASCADE,
    rules TEXT NOT NULL
) STRICT;
