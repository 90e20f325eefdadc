"""Compiled loops of the freezing run; :mod:`pourwright.physics.freeze.backend` puts them on the table."""
