"""Laws of the nodes, and their step."""
