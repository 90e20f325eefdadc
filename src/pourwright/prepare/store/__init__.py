"""What the day uses up besides metal, and whether the equipment was checked."""
