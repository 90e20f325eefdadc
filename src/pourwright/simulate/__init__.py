"""One tree in one flask under stated conditions, from the metal's shape to what the caster should know."""
