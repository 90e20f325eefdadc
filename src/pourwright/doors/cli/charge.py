"""``pourwright charge``: from the drawer at least cost, or from metal named on the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.doors.cli.books.shape import PATH, command, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command(
    "charge",
    option("--alloy", key="alloy", required=True),
    option("--mass", key="mass", required=True, metavar="MASS"),
    option("--use", "uses", key="use", multiple=True, metavar="METAL"),
    option("--scale", key="charge-scale", default="0.01 g", show_default=True, metavar="MASS"),
    option("--for", "owners", key="charge-for", multiple=True, metavar="NAME"),
    option("--lot", "lots", key="charge-lot", multiple=True, metavar="LOT"),
    option("--doubtful", key="charge-doubtful", is_flag=True),
    option("--new", key="charge-new", default="", metavar="SHARE"),
    option("--melts", key="charge-melts", default="", metavar="NUMBER"),
    option("--old", key="charge-old", default="", metavar="MELTS:SHARE"),
    option("--window", "windows", key="charge-window", multiple=True, metavar="ELEMENT:LOW..HIGH"),
    option("--burns", key="charge-burns", multiple=True, metavar="ELEMENT:SHARE"),
    option("--over", "surplus", key="charge-over", default="", metavar="MASS"),
    option("--least", key="charge-least", default="", metavar="MASS"),
    option("--likely", key="charge-likely", default="", metavar="SHARE"),
    option("--crucible", key="charge-crucible", default="", metavar="CRUCIBLE"),
    option("--studio", key="studio", type=PATH, default=None),
)
def charge(
    alloy: str,
    mass: str,
    uses: tuple[str, ...],
    scale: str,
    owners: tuple[str, ...],
    lots: tuple[str, ...],
    doubtful: bool,
    crucible: str,
    studio: Path | None,
    books: str,
    **limits: Any,
) -> BookAnswer:
    """Weigh a charge together."""
    from pourwright.doors.service.stock.asking import charge_as_asked
    from pourwright.doors.service.stock.charging import Wish
    from pourwright.doors.service.stock.limits import Limits

    wish = Wish(alloy, mass, scale, owners, lots, crucible, doubtful, Limits(**limits), books, studio)
    return charge_as_asked(wish, uses)
