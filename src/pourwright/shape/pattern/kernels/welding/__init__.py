"""Compiled loops that tell which corners of a mesh are one."""
