-- What a choir's meeting days read, as the director kept it; and which earlier steps a line came
-- back to. Every column stands in bot/privacy/match_tables.py and fields.py.

CREATE TABLE plan_days (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    plan_on TEXT NOT NULL,
    kind TEXT NOT NULL,
    PRIMARY KEY (choir_id, plan_on)
) STRICT;

ALTER TABLE readings ADD COLUMN focus TEXT;
