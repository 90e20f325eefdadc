"""Laws as tables."""
