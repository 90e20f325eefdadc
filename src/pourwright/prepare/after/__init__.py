"""What is done to patterns before investing and to castings after the quench, and who vouches for them."""
