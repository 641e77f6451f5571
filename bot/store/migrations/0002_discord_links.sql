-- Which channel of which Discord server carries a choir, and the code that links the two once.
-- Every column stands in bot/privacy/fields.py.

CREATE TABLE discord_links (
    choir_id TEXT PRIMARY KEY REFERENCES choirs ON DELETE CASCADE,
    guild_id TEXT NOT NULL,
    channel_id TEXT NOT NULL UNIQUE,
    director_role_id TEXT NOT NULL,
    linked_on TEXT NOT NULL
) STRICT;

CREATE TABLE discord_link_codes (
    choir_id TEXT PRIMARY KEY REFERENCES choirs ON DELETE CASCADE,
    code_hash TEXT NOT NULL,
    expires_at TEXT NOT NULL
) STRICT;

CREATE TABLE discord_app (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    commands_digest TEXT NOT NULL
) STRICT;
