"""The records at the doors: texts in, pieces, weighings, comparisons and papers out."""
