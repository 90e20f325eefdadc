"""How much metal, and of what it is weighed together."""
