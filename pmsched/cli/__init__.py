"""The commands: each parses, calls one use case, prints."""
