"""Vocabulary that every room shares; imports nothing else of ours."""
