"""When the flask may go into the water: minutes as a range, never colour alone."""
