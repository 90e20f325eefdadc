"""What a pattern file may be: how large, how long it may take, and what size a piece is likely to have."""

from __future__ import annotations

from dataclasses import dataclass, field

from pourwright.core.work import Limits


@dataclass(frozen=True)
class PatternLimits:
    """Limits for one pattern file.

    Parameters
    ----------
    triangles_count, file_bytes_count, unpacked_bytes_count : int
        More is refused unless large files are asked for (docs/decisions: meshes); the last counts what is packed in
        a file once it is unpacked.
    longest_mm, shortest_mm : float
        A longest side outside these is questioned: above, it is most likely another unit; below, the piece is
        smaller than anything usually cast [mm]. Common practice, no source.
    likely_mm : float
        Candidates for an unknown unit are called likely from this longest side up [mm].
    child : Limits
        What the process that reads the file may use.
    """

    triangles_count: int = 2_000_000
    file_bytes_count: int = 150_000_000
    unpacked_bytes_count: int = 512_000_000
    longest_mm: float = 110.0
    shortest_mm: float = 3.0
    likely_mm: float = 5.0
    child: Limits = field(default_factory=Limits)


# What "large" raises the counts to; memory and time stay limited.
LARGE_TRIANGLES_COUNT = 20_000_000
LARGE_FILE_BYTES_COUNT = 1_500_000_000
LARGE_UNPACKED_BYTES_COUNT = 5_000_000_000
