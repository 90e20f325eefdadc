"""Compiled loops that part a body into its sections."""
