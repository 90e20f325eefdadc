"""Investment mix and burnout."""
