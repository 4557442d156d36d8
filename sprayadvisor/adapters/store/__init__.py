"""The database: one code path for SQLite and PostgreSQL."""
