-- Tellings of stories: the story as it stood, its lines, what happened, ballots until the close.
-- Every column stands in bot/privacy/play_tables.py.

CREATE TABLE story_runs (
    run_id TEXT PRIMARY KEY,
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    story_id TEXT NOT NULL,
    source TEXT NOT NULL,
    began_on TEXT NOT NULL,
    ended_on TEXT
) STRICT;

CREATE UNIQUE INDEX one_story_at_a_time ON story_runs (choir_id) WHERE ended_on IS NULL;

CREATE TABLE story_lines (
    run_id TEXT NOT NULL REFERENCES story_runs ON DELETE CASCADE,
    scene TEXT NOT NULL,
    reading_id TEXT NOT NULL REFERENCES readings ON DELETE CASCADE,
    PRIMARY KEY (run_id, scene)
) STRICT;

CREATE TABLE story_events (
    run_id TEXT NOT NULL REFERENCES story_runs ON DELETE CASCADE,
    number INTEGER NOT NULL,
    kind TEXT NOT NULL,
    event TEXT NOT NULL,
    PRIMARY KEY (run_id, number)
) STRICT;

CREATE TABLE story_ballots (
    seat_id TEXT NOT NULL REFERENCES seats ON DELETE CASCADE,
    run_id TEXT NOT NULL REFERENCES story_runs ON DELETE CASCADE,
    path INTEGER NOT NULL CHECK (path >= 0),
    PRIMARY KEY (seat_id, run_id)
) STRICT;
