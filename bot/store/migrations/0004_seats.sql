-- Approval sheets; seats with their codes, visits, taps and weeks; counts of the class; what was done.
-- Every column stands in bot/privacy/fields.py.

CREATE TABLE approval_sheets (
    sheet_id TEXT PRIMARY KEY,
    file BLOB NOT NULL,
    confirmed_hash TEXT
) STRICT;

CREATE TABLE clock_seen (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    seen_on TEXT NOT NULL
) STRICT;

CREATE TABLE audit (
    sequence INTEGER PRIMARY KEY,
    done_on TEXT NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('director', 'program')),
    action TEXT NOT NULL,
    amount INTEGER NOT NULL,
    sheet TEXT,
    chain TEXT NOT NULL
) STRICT;

CREATE TABLE given_rests (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    rest_on TEXT NOT NULL,
    PRIMARY KEY (choir_id, rest_on)
) STRICT;

CREATE TABLE class_counts (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    read_on TEXT NOT NULL,
    went TEXT NOT NULL CHECK (went IN ('steady', 'bumpy', 'not_yet')),
    amount INTEGER NOT NULL CHECK (amount > 0),
    PRIMARY KEY (choir_id, read_on, went)
) STRICT;

CREATE TABLE seats (
    seat_id TEXT PRIMARY KEY,
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    seat_no INTEGER NOT NULL CHECK (seat_no > 0),
    made_on TEXT NOT NULL,
    UNIQUE (choir_id, seat_no)
) STRICT;

CREATE TABLE seat_codes (
    seat_id TEXT PRIMARY KEY REFERENCES seats ON DELETE CASCADE,
    code_tag BLOB NOT NULL UNIQUE
) STRICT;

CREATE TABLE seat_sessions (
    seat_id TEXT PRIMARY KEY REFERENCES seats ON DELETE CASCADE,
    token_hash BLOB NOT NULL UNIQUE,
    opened_on TEXT NOT NULL,
    remembered INTEGER NOT NULL CHECK (remembered IN (0, 1))
) STRICT;

-- How a reading went stands beside its seat until that day's midnight and no longer.
CREATE TABLE taps (
    seat_id TEXT NOT NULL REFERENCES seats ON DELETE CASCADE,
    read_on TEXT NOT NULL,
    tapped_on TEXT NOT NULL,
    went TEXT NOT NULL CHECK (went IN ('steady', 'bumpy', 'not_yet')),
    PRIMARY KEY (seat_id, read_on)
) STRICT;

CREATE TABLE read_days (
    seat_id TEXT NOT NULL REFERENCES seats ON DELETE CASCADE,
    read_on TEXT NOT NULL,
    PRIMARY KEY (seat_id, read_on)
) STRICT;

CREATE TABLE week_counts (
    seat_id TEXT NOT NULL REFERENCES seats ON DELETE CASCADE,
    begins TEXT NOT NULL,
    offered INTEGER NOT NULL,
    days_read INTEGER NOT NULL,
    PRIMARY KEY (seat_id, begins)
) STRICT;
