"""Compiled sums over faces, and cuts through them."""
