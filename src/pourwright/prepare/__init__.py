"""From patterns and profile to the plan of the day."""
