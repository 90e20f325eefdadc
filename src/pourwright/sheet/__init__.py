"""What is printed: run sheet, labels and the pictures on them."""
