"""How a closed surface cuts the cells of a graded grid: exact clipping and crossings, in compiled loops."""
