"""Facts in and out of files: bytes and plain values. Knows no database."""
