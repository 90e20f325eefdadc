"""Arrays on the card."""
