"""The fineness passport of a piece: every lump that went into it through all remelts, and how likely it is at standard.

The metal of a piece is followed back, pour by pour, to lots that came from outside or were assayed: its roots. Each
root's fineness lies evenly over its range and each weighing evenly within the scale's error, independent of all others.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import held_mg, refused
from pourwright.books.lots import Lot, lots
from pourwright.books.masses import UNKNOWN
from pourwright.books.stock_tables import assay, assay_result
from pourwright.books.tables import account, entry, movement, pour
from pourwright.prepare.charge.optimum.likelihood import Term, met_frac

# Values of a root's fineness at which the doubt that is left is averaged (Gauss and Legendre).
_NODES_COUNT = 8
# A doubt that falls by less than this is not worth an assay's fee.
_WORTH_FRAC = 1e-3


@dataclass(frozen=True)
class Root:
    """A lot that a piece comes from: its share of the piece, and what is left of it in the drawer [mg]."""

    lot: Lot
    share_frac: float
    melts_count: int
    left_mg: int


@dataclass(frozen=True)
class Passport:
    """What is known of a piece's fineness.

    Parameters
    ----------
    piece, pour, alloy, owner, weighed_by : str
        Which piece, from which pour, whose, and who weighed that pour.
    mass_mg : int
        What the book says it weighs.
    roots : tuple of Root
        The lots in it, largest share first; the shares add up to one.
    standard_permille : float
        What the alloy promises [permille]; 0 for nothing.
    best_permille, low_permille, high_permille : float
        Fineness by best values, and at the ends of all ranges [permille].
    meets_frac : float or None
        Probability that it is at the standard; None where a root is not known at all.
    assayed : bool
        Whether the piece itself was assayed.
    worth_frac : mapping of str to float
        By how much the chance of being wrong about the piece would fall, for each lot whose assay would lower it.
    """

    piece: str
    pour: str
    alloy: str
    owner: str
    weighed_by: str
    mass_mg: int
    roots: tuple[Root, ...]
    standard_permille: float
    best_permille: float
    low_permille: float
    high_permille: float
    meets_frac: float | None
    assayed: bool = False
    worth_frac: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class _Melt:
    """What went into a pour: lots with mass [mg]; and which pour it was."""

    pour: str
    alloy: str
    by: str
    used_mg: Mapping[str, int]


def passport(connection: Connection, piece: str, standard_permille: float, element: str, error_mg: float) -> Passport:
    """Return the passport of a piece.

    Parameters
    ----------
    connection : Connection
        Reading.
    piece : str
        As in the pour.
    standard_permille : float
        What is promised [permille].
    element : str
        The noble metal.
    error_mg : float
        How far one weighing may be off [mg].

    Raises
    ------
    LedgerError
        No such piece came out of a pour.
    """
    name = f"piece:{piece}"
    melt = _melt_of(connection, name)
    if melt is None:
        raise refused("books.piece-not-cast", piece, piece=piece)
    shares, ages, scatter = _roots(connection, melt, element, error_mg)
    known = {one.id: one for one in lots(connection, sorted(shares))}
    roots = tuple(
        Root(known[lot], share, ages[lot], known[lot].held_mg)
        for lot, share in sorted(shares.items(), key=lambda one: (-one[1], one[0]))
    )
    whole = _whole(connection, name, roots, melt, standard_permille)
    own = _own_result(connection, name, element)
    if own is not None:
        return _judged_by_assay(whole, own)
    if any(UNKNOWN in one.lot.share_ppm for one in roots):
        return whole
    return _judged(whole, element, scatter)


def alloy_of(connection: Connection, piece: str) -> str:
    """Return the alloy of the pour that a piece came out of.

    Raises
    ------
    LedgerError
        No such piece came out of a pour.
    """
    melt = _melt_of(connection, f"piece:{piece}")
    if melt is None:
        raise refused("books.piece-not-cast", piece, piece=piece)
    return melt.alloy


def _whole(
    connection: Connection, name: str, roots: tuple[Root, ...], melt: _Melt, standard_permille: float
) -> Passport:
    mass_mg = sum(held_mg(connection, name).values())
    owner = str(connection.execute(sa.select(account.c.owner_id).where(account.c.name == name)).scalar_one())
    piece = name.removeprefix("piece:")
    return Passport(
        piece, melt.pour, melt.alloy, owner, melt.by, mass_mg, roots, standard_permille, 0.0, 0.0, 1000.0, None
    )


def _melt_of(connection: Connection, name: str) -> _Melt | None:
    """Return the pour that an account's metal came out of, or None if it came from outside."""
    taken_back = sa.select(movement.c.reverses_id).where(movement.c.reverses_id.is_not(None))
    row = connection.execute(
        sa.select(movement.c.id, movement.c.pour_id, movement.c.made_by, pour.c.alloy)
        .join(entry, entry.c.movement_id == movement.c.id)
        .join(account, account.c.id == entry.c.account_id)
        .join(pour, pour.c.id == movement.c.pour_id)
        .where(account.c.name == name, entry.c.mass_mg > 0, movement.c.kind.in_(("poured", "aborted")))
        .where(movement.c.id.not_in(taken_back))
        .limit(1)
    ).first()
    if row is None:
        return None
    used = connection.execute(
        sa.select(account.c.name, sa.func.sum(entry.c.mass_mg).label("mass_mg"))
        .join(entry, entry.c.account_id == account.c.id)
        .where(entry.c.movement_id == row.id, account.c.kind == "lot")
        .group_by(account.c.name)
    )
    masses = {one.name.removeprefix("lot:"): -int(one.mass_mg) for one in used if one.mass_mg < 0}
    return _Melt(row.pour_id, row.alloy, row.made_by, masses)


def _roots(
    connection: Connection, melt: _Melt, element: str, error_mg: float
) -> tuple[dict[str, float], dict[str, int], list[tuple[float, float]]]:
    """Follow a melt back.

    Returns
    -------
    shares : dict
        Share of each root in the melt.
    ages : dict
        Melts that a root has been through on its shortest way here.
    scatter : list of (float, float)
        Of each weighing on the way: its error as a share of the melt, and the best share of the noble metal weighed.
    """
    shares: dict[str, float] = defaultdict(float)
    ages: dict[str, int] = {}
    scatter: list[tuple[float, float]] = []
    waiting = [(melt, 1.0, 0)]
    while waiting:
        now, share, age = waiting.pop()
        whole_mg = sum(now.used_mg.values())
        for lot in lots(connection, sorted(now.used_mg)):
            part = share * now.used_mg[lot.id] / whole_mg
            scatter.append((share * error_mg / whole_mg, lot.share_ppm.get(element, 0) / 1e6))
            before = None if _assayed(connection, lot.id) else _melt_of(connection, f"lot:{lot.id}")
            if before is None:
                shares[lot.id] += part
                ages[lot.id] = min(age, ages.get(lot.id, age))
            else:
                waiting.append((before, part, age + 1))
    return dict(shares), ages, scatter


def _assayed(connection: Connection, lot_id: str) -> bool:
    wanted = sa.select(assay.c.id).join(assay_result, assay_result.c.assay_id == assay.c.id)
    return connection.execute(wanted.where(assay.c.subject == f"lot:{lot_id}").limit(1)).first() is not None


def _own_result(connection: Connection, name: str, element: str) -> tuple[float, float] | None:
    row = connection.execute(
        sa.select(assay_result.c.low_ppm, assay_result.c.high_ppm)
        .join(assay, assay.c.id == assay_result.c.assay_id)
        .where(assay.c.subject == name, assay_result.c.element == element)
        .order_by(assay_result.c.entered_at.desc())
        .limit(1)
    ).first()
    return (row.low_ppm / 1e6, row.high_ppm / 1e6) if row else None


def _judged_by_assay(whole: Passport, ends: tuple[float, float]) -> Passport:
    low, high = ends
    over = whole.standard_permille / 1000
    meets = met_frac([Term(1.0, 0.0, low - over, high - over)])
    middle = 500.0 * (low + high)
    return replace(
        whole, best_permille=middle, low_permille=1000 * low, high_permille=1000 * high, meets_frac=meets, assayed=True
    )


def _judged(whole: Passport, element: str, scatter: Sequence[tuple[float, float]]) -> Passport:
    over = whole.standard_permille / 1000
    ends = [(one.share_frac, *_ends(one.lot, element)) for one in whole.roots]
    # A weighing that is off moves the melt by its error times how far the lot lies from the standard.
    errors = [Term(0.0, error, noble - over, noble - over) for error, noble in scatter]
    meets = _met(ends, errors, over)
    best = sum(one.share_frac * one.lot.share_ppm.get(element, 0) / 1e6 for one in whole.roots)
    shaken = sum(abs(one.error_g * one.over_low_frac) for one in errors)
    return replace(
        whole,
        best_permille=1000 * best,
        low_permille=1000 * (sum(share * low for share, low, _ in ends) - shaken),
        high_permille=1000 * (sum(share * high for share, _, high in ends) + shaken),
        meets_frac=meets,
        worth_frac=_worth(whole, ends, errors, over, meets),
    )


def _ends(lot: Lot, element: str) -> tuple[float, float]:
    own = lot.share_ppm.get(element, 0) / 1e6
    return (lot.noble_low_ppm / 1e6, lot.noble_high_ppm / 1e6) if lot.noble == element else (own, own)


def _met(ends: Sequence[tuple[float, float, float]], errors: Sequence[Term], over_frac: float) -> float:
    return met_frac([*(Term(share, 0.0, low - over_frac, high - over_frac) for share, low, high in ends), *errors])


def _worth(
    whole: Passport,
    ends: Sequence[tuple[float, float, float]],
    errors: Sequence[Term],
    over_frac: float,
    meets_frac: float,
) -> dict[str, float]:
    """Return how much of the doubt an assay of each lot would take away, where it takes any.

    The doubt is the chance of being wrong when one goes by what is likelier. After an assay it is that chance on the
    mean over all results that the assay could have.
    """
    doubt = min(meets_frac, 1.0 - meets_frac)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES_COUNT)
    worth = {}
    for place, root in enumerate(whole.roots):
        share, low, high = ends[place]
        if high <= low or root.left_mg == 0:
            continue
        left = 0.0
        for node, weight in zip(nodes, weights, strict=True):
            known = low + (high - low) * (float(node) + 1) / 2
            then = _met([*ends[:place], (share, known, known), *ends[place + 1 :]], errors, over_frac)
            left += float(weight) / 2 * min(then, 1.0 - then)
        if doubt - left > _WORTH_FRAC:
            worth[root.lot.id] = doubt - left
    return worth


def worth_of(found: Sequence[Passport]) -> tuple[str, float]:
    """Return the one lot whose assay would settle most about all these pieces together, and by how much.

    The measure is the number of pieces about which one would be wrong; the lot is empty where no assay helps.
    """
    sums: dict[str, float] = defaultdict(float)
    for one in found:
        for lot, share in one.worth_frac.items():
            sums[lot] += share
    best = max(sorted(sums), key=lambda lot: sums[lot], default="")
    return best, sums[best] if best else 0.0


def pieces_of(connection: Connection, pour_id: str) -> tuple[str, ...]:
    """Return the pieces of a pour by id, without one that was taken back.

    Raises
    ------
    LedgerError
        The pour is not in the book, or made no piece.
    """
    taken_back = sa.select(movement.c.reverses_id).where(movement.c.reverses_id.is_not(None))
    names = connection.execute(
        sa.select(account.c.name)
        .join(entry, entry.c.account_id == account.c.id)
        .join(movement, movement.c.id == entry.c.movement_id)
        .where(movement.c.pour_id == pour_id, account.c.kind == "piece", entry.c.mass_mg > 0)
        .where(movement.c.kind == "poured", movement.c.id.not_in(taken_back))
        .distinct()
        .order_by(account.c.name)
    ).scalars()
    found = tuple(name.removeprefix("piece:") for name in names)
    if not found:
        raise refused("books.pour-unknown", pour_id, pour=pour_id)
    return found
