-- What takes long to compose and was asked for: it is made in the background, and taken up again by the
-- next run of the program where one was stopped. Every column stands in bot/privacy/play_tables.py.

CREATE TABLE makings (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    kind TEXT NOT NULL,
    wish TEXT NOT NULL,
    PRIMARY KEY (choir_id, kind)
) STRICT;
