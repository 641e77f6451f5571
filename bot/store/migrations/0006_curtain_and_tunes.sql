-- Falls of the curtain with what a class held, and which mystery tunes are put aside.
-- Every column stands in bot/privacy/play_tables.py.

CREATE TABLE curtain_falls (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    number INTEGER NOT NULL CHECK (number > 0),
    fell_on TEXT NOT NULL,
    measure INTEGER NOT NULL,
    beat TEXT NOT NULL,
    beats_left INTEGER NOT NULL CHECK (beats_left >= 0),
    beats_held INTEGER CHECK (beats_held BETWEEN 0 AND beats_left),
    by_hand INTEGER NOT NULL CHECK (by_hand IN (0, 1)),
    PRIMARY KEY (choir_id, number)
) STRICT;

-- What a director said of a tune; one that is not here is as the collection has it.
CREATE TABLE tune_switches (
    tune_id TEXT PRIMARY KEY,
    is_on INTEGER NOT NULL CHECK (is_on IN (0, 1))
) STRICT;

-- A tune that was put before a choir: the reading's page never tells its name.
CREATE TABLE tunes_read (
    reading_id TEXT PRIMARY KEY REFERENCES readings ON DELETE CASCADE,
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    tune_id TEXT NOT NULL,
    told INTEGER NOT NULL DEFAULT 0 CHECK (told IN (0, 1))
) STRICT;
