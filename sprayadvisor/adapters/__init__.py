"""One module per technology: forecast service, database, files, mail."""
