"""Speed and memory as ratios, side by side; nothing here passes or fails."""
