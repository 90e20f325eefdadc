"""Geometry: pattern files measured, and the tree that carries them."""
