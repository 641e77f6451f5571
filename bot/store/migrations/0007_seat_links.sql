-- An account elsewhere at a seat, as a keyed tag, and the codes that link one once. Both go with the
-- code on the seat's slip: a new slip, the term's end, the seat itself.
-- Every column stands in bot/privacy/link_tables.py.

CREATE TABLE seat_links (
    seat_id TEXT PRIMARY KEY REFERENCES seat_codes ON DELETE CASCADE,
    link_tag BLOB NOT NULL
) STRICT;

CREATE INDEX seat_links_by_tag ON seat_links (link_tag);

CREATE TABLE seat_link_codes (
    seat_id TEXT PRIMARY KEY REFERENCES seat_codes ON DELETE CASCADE,
    code_tag BLOB NOT NULL UNIQUE,
    made_on TEXT NOT NULL
) STRICT;
