-- What a day's line was really read as on the stage, beside what the director kept for the day.
-- The column stands in bot/privacy/match_tables.py.

ALTER TABLE plan_days ADD COLUMN read_as TEXT;
