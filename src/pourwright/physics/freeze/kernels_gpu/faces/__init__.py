"""Compiled loops on the card: faces."""
