"""Links of the nodes on all levels, and their solution."""
