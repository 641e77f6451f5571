-- Choirs, their readings and what became of each posting; the desk's passphrase.
-- Every column stands in bot/privacy/fields.py.

CREATE TABLE installation (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    born TEXT NOT NULL CHECK (born IN ('real', 'demo', 'test')),
    since_version TEXT NOT NULL
) STRICT;

CREATE TABLE choirs (
    choir_id TEXT PRIMARY KEY,
    ordinal INTEGER NOT NULL UNIQUE,
    added_on TEXT NOT NULL,
    name TEXT NOT NULL,
    sequence TEXT NOT NULL,
    step_pitch TEXT NOT NULL,
    step_rhythm TEXT NOT NULL,
    step_voice TEXT NOT NULL,
    zone TEXT NOT NULL,
    meets TEXT NOT NULL CHECK (meets IN ('weekdays', 'rotation')),
    meeting_days TEXT NOT NULL,
    rotation_length INTEGER,
    rotation_anchor TEXT,
    post_at TEXT NOT NULL,
    starts_on TEXT NOT NULL,
    naming TEXT NOT NULL,
    fifth TEXT NOT NULL,
    seventh TEXT NOT NULL,
    do_based_minor INTEGER NOT NULL,
    key_pattern TEXT NOT NULL,
    a4_hz REAL NOT NULL,
    tempo_bpm INTEGER,
    mark_do INTEGER NOT NULL,
    give_pitch INTEGER NOT NULL,
    measures INTEGER,
    key TEXT,
    CHECK ((meets = 'rotation') = (rotation_length IS NOT NULL AND rotation_anchor IS NOT NULL))
) STRICT;

CREATE TABLE choir_voices (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    ordinal INTEGER NOT NULL,
    voice TEXT NOT NULL,
    label TEXT NOT NULL,
    low TEXT NOT NULL,
    high TEXT NOT NULL,
    tessitura_low TEXT NOT NULL,
    tessitura_high TEXT NOT NULL,
    clef TEXT NOT NULL,
    PRIMARY KEY (choir_id, ordinal),
    UNIQUE (choir_id, voice)
) STRICT;

CREATE TABLE choir_days_off (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    day_on TEXT NOT NULL,
    PRIMARY KEY (choir_id, day_on)
) STRICT;

-- Lines that were drawn again stay: the history that rules out repeats never forgets.
CREATE TABLE readings (
    reading_id TEXT PRIMARY KEY,
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    read_on TEXT NOT NULL,
    slot TEXT NOT NULL,
    draw INTEGER NOT NULL,
    current INTEGER NOT NULL CHECK (current IN (0, 1)),
    exercise TEXT NOT NULL,
    fingerprint TEXT NOT NULL,
    sequence TEXT NOT NULL,
    step_pitch TEXT NOT NULL,
    step_rhythm TEXT NOT NULL,
    step_voice TEXT NOT NULL,
    seed INTEGER NOT NULL,
    origin TEXT NOT NULL CHECK (origin IN ('composed', 'own')),
    title TEXT,
    UNIQUE (choir_id, read_on, slot, draw)
) STRICT;

CREATE INDEX readings_of_choir ON readings (choir_id, fingerprint);

CREATE UNIQUE INDEX one_current_reading ON readings (choir_id, read_on, slot) WHERE current = 1;

CREATE TABLE reading_parts (
    reading_id TEXT NOT NULL REFERENCES readings ON DELETE CASCADE,
    ordinal INTEGER NOT NULL,
    voice TEXT NOT NULL,
    label TEXT NOT NULL,
    clef TEXT NOT NULL,
    line INTEGER NOT NULL,
    do_octave INTEGER NOT NULL,
    apart_key TEXT NOT NULL,
    apart_do_octave INTEGER NOT NULL,
    PRIMARY KEY (reading_id, ordinal)
) STRICT;

CREATE TABLE deliveries (
    choir_id TEXT NOT NULL REFERENCES choirs ON DELETE CASCADE,
    read_on TEXT NOT NULL,
    slot TEXT NOT NULL,
    surface TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('claimed', 'sent', 'unsure', 'missed')),
    reading_id TEXT REFERENCES readings,
    nonce TEXT,
    message_id TEXT,
    claimed_at TEXT,
    settled_at TEXT,
    PRIMARY KEY (choir_id, read_on, slot, surface),
    CHECK (state = 'missed' OR (reading_id IS NOT NULL AND claimed_at IS NOT NULL)),
    CHECK (state <> 'sent' OR message_id IS NOT NULL)
) STRICT;

CREATE INDEX deliveries_of_reading ON deliveries (reading_id);

CREATE TABLE desk (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    passphrase_hash TEXT NOT NULL
) STRICT;
