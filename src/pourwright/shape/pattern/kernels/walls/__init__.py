"""Compiled loops that measure walls by the largest balls inside."""
