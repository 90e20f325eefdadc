"""Compiled loops on the card: marks."""
