"""Compiled loops on the card: sweep."""
