"""Compiled loops on the card: nodes."""
