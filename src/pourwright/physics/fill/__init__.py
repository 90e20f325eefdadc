"""Filling a mould: when metal arrives at each place, how warm, and where it stops short."""
