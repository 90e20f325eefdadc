"""Stock at the doors: charges from the drawer, its opening, stops, assays, money, sweeps and supplies."""
