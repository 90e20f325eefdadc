"""One pattern: mesh in, checked, measured, walls and sections found."""
