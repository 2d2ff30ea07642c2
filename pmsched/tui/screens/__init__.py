"""One module a screen; each answers one question."""
