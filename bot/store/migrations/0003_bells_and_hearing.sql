-- When a choir's lesson begins, who opens a line for hearing, and which lines were opened.
-- Every column stands in bot/privacy/fields.py.

ALTER TABLE choirs ADD COLUMN bell_at TEXT;

ALTER TABLE choirs ADD COLUMN hearing TEXT NOT NULL DEFAULT 'director'
    CHECK (hearing IN ('never', 'director', 'try'));

ALTER TABLE readings ADD COLUMN opened INTEGER NOT NULL DEFAULT 0 CHECK (opened IN (0, 1));
