"""Setting up the arm: where the weight goes and how far to wind."""
