"""Freezing: how heat leaves the metal of a filled mould, in three dimensions."""
