"""Records beside the metal: what was taken in, where each piece stood and when, what was weighed, seen and kept."""
