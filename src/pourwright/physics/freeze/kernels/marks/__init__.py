"""What metal nodes passed through, and when."""
