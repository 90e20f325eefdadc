"""Stages of the mould."""
