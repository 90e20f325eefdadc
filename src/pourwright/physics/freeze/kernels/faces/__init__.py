"""Rows of the mould, and their faces to nodes and air."""
