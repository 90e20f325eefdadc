"""Voxel grids: partial volumes of a closed mesh and distances inside it."""
