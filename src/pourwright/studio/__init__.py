"""What the user writes, read and checked: the studio profile, its calibration and the day."""
