"""Compiled loops over the sides of faces: what hangs together, which way it is turned, what lies round a point."""
