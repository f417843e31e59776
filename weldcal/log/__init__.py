"""The log: append-only, hash-chained entries in one SQLite file, the book."""
