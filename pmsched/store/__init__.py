"""Facts on disk: tables, the book of entries, migrations, back-up. Rows leave as plain values."""
