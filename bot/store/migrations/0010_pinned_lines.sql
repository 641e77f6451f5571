-- Lines that the director holds to their date, whatever the choir's settings become.
-- Every column stands in bot/privacy/fields.py.

ALTER TABLE readings ADD COLUMN pinned INTEGER NOT NULL DEFAULT 0 CHECK (pinned IN (0, 1));
