-- School days on which a choir's lesson begins at another time: early release, late opening.
-- Every column stands in bot/privacy/fields.py.

CREATE TABLE choir_short_days (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    day_on TEXT NOT NULL,
    bell_at TEXT NOT NULL,
    PRIMARY KEY (choir_id, day_on)
) STRICT;
