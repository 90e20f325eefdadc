"""The wax tree: sprue, gates, placing in a flask, clearances."""
