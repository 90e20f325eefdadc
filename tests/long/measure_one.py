"""Measure one pattern file in a process of its own and print what came out: ``python -m tests.long.measure_one``."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern

# The set has conveyors of 1.5 m and hourglasses of 0.07: their size is not the question here.
ANY_SIZE = PatternLimits(longest_mm=1e9, shortest_mm=0.0)


def main() -> None:
    report = measure_pattern(Path(sys.argv[1]), sys.argv[2], ANY_SIZE)
    found = [{"code": one.code, "level": one.level.value, "what": one.what} for one in report.findings]
    print(
        json.dumps(
            {
                "triangles": report.triangles_count,
                "measured": report.mesh is not None,
                "volume": report.volume_mm3,
                "low": report.volume_low_mm3,
                "high": report.volume_high_mm3,
                "units": report.units,
                "findings": found,
            }
        )
    )


if __name__ == "__main__":
    main()
