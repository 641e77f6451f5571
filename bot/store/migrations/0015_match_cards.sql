-- What the card of a match's score said last, so that it is changed when that is no longer so.
-- Every column stands in bot/privacy/match_tables.py; the posting itself is a delivery.

CREATE TABLE match_cards (
    match_id TEXT NOT NULL REFERENCES matches ON DELETE CASCADE,
    surface TEXT NOT NULL,
    told TEXT NOT NULL,
    PRIMARY KEY (match_id, surface)
) STRICT;
