"""The binary layout of an STL file, shared by reader and writer."""

from __future__ import annotations

import numpy as np

HEADER_BYTES = 80
COUNT_BYTES = 4
FACET = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
