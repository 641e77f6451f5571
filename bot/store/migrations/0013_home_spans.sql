-- What singers told of their span at home: a number a seat until the week ends, then one figure of
-- the class. Every column stands in bot/privacy/play_tables.py.

CREATE TABLE home_spans (
    seat_id TEXT NOT NULL REFERENCES seats ON DELETE CASCADE,
    begins TEXT NOT NULL,
    beats INTEGER NOT NULL CHECK (beats >= 0),
    PRIMARY KEY (seat_id, begins)
) STRICT;

CREATE TABLE home_span_weeks (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    begins TEXT NOT NULL,
    seats INTEGER NOT NULL CHECK (seats > 0),
    middle REAL NOT NULL CHECK (middle >= 0),
    PRIMARY KEY (choir_id, begins)
) STRICT;
