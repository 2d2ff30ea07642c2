"""The demo register: an invented vessel and a seeded simulation of its history."""
