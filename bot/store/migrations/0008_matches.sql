-- Matches: what each began with, its lines, its journal of calls. Sides and heads, nobody's seat.
-- Every column stands in bot/privacy/match_tables.py.

CREATE TABLE matches (
    match_id TEXT PRIMARY KEY,
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    number INTEGER NOT NULL CHECK (number > 0),
    played_on TEXT NOT NULL,
    setup TEXT NOT NULL,
    ended INTEGER NOT NULL CHECK (ended IN (0, 1)),
    left_points INTEGER NOT NULL CHECK (left_points >= 0),
    right_points INTEGER NOT NULL CHECK (right_points >= 0),
    UNIQUE (choir_id, number)
) STRICT;

CREATE TABLE match_lines (
    match_id TEXT NOT NULL REFERENCES matches ON DELETE CASCADE,
    number INTEGER NOT NULL,
    reading_id TEXT NOT NULL REFERENCES readings ON DELETE CASCADE,
    PRIMARY KEY (match_id, number)
) STRICT;

-- Nothing is ever changed here: a call that is taken back is followed by an undo.
CREATE TABLE match_calls (
    match_id TEXT NOT NULL REFERENCES matches ON DELETE CASCADE,
    number INTEGER NOT NULL,
    call TEXT NOT NULL,
    PRIMARY KEY (match_id, number)
) STRICT;
