"""Puts the parts of the plan together, and nothing else."""
