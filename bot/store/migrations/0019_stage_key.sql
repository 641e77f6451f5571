-- What signs the tickets of open stages, so that a lesson goes on after a restart. No backup carries it.

CREATE TABLE stage (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    ticket_key BLOB NOT NULL CHECK (length(ticket_key) = 32)
) STRICT;
