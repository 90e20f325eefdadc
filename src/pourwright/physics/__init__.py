"""The engines; they meet only as plain arrays and numbers."""
