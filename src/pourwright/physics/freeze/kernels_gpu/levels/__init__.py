"""Compiled loops on the card: levels."""
