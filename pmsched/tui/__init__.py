"""The screens: each shows, asks, and hands a command to a use case through one gateway."""
