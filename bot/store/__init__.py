"""SQLite: the only folder that opens a database."""
