"""Which piece goes into which flask."""
