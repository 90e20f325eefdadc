"""What the controller of a kiln shows at a true temperature."""

from __future__ import annotations

from dataclasses import replace

from pourwright.core.figure import Figure, reckon


def controller_reading(true_C: Figure, offset_C: Figure) -> Figure:
    """Return what the controller shows when the kiln truly has a temperature, in C.

    Parameters
    ----------
    true_C : Figure
        True temperature [degC].
    offset_C : Figure
        True temperature minus reading [degC].
    """
    return reckon(
        "C",
        "prepare.how-reading",
        lambda true_C, offset_C: true_C - offset_C,
        {"true_C": true_C, "offset_C": offset_C},
    )


def as_set(wanted_C: Figure) -> Figure:
    """Return a temperature as the kiln is set to it [degC]: a range says what pieces allow, not what the kiln does."""
    return replace(wanted_C, low=wanted_C.value, high=wanted_C.value)
