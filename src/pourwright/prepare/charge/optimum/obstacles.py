"""Why no charge can be made: which limit stands in the way, and how far it alone would have to give."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pourwright.prepare.charge.optimum.model import Model, Row, solve
from pourwright.prepare.charge.optimum.request import Obstacle

_LIMITS = ("mass", "fineness", "window", "new", "melts", "old", "weigh")
# Breaches, for each gram of the charge, that hurt about alike when several limits must give together: a tenth of the
# mass, 50 permille of fineness, a share of 0.05, half of the new metal, two melts. Our own choice; it decides only
# which of many ways out is shown.
_HURTS_RATIO = {"mass": 0.1, "fineness": 50.0, "window": 0.05, "new": 0.5, "melts": 2.0, "old": 0.5, "weigh": 1.0}
# Slack below this is none.
_NOTHING = 1e-6


def obstacles(model: Model) -> tuple[Obstacle, ...]:
    """Return each limit that alone would open the way if it gave, with the nearest value that can be had.

    Every limit in turn is let go as far as it must while all the others hold. Where no single one is enough, those
    that must give together are returned, each with what remains of it.
    """
    if not model.parts:
        return (Obstacle("stock", "", model.request.mass_g, 0.0, "g"),)
    alone = [one for limit in _LIMITS for one in _let_go(model, (limit,))]
    bought = _buy(model)
    found = (*alone, *bought)
    return found or tuple(_let_go(model, _LIMITS))


def _let_go(model: Model, limits: tuple[str, ...]) -> list[Obstacle]:
    """Let rows of these limits give, as little as can be; empty if even that does not help."""
    soft = [place for place, row in enumerate(model.rows) if row.limit in limits]
    if not soft:
        return []
    extra = np.zeros((len(model.rows), len(soft)))
    for column, place in enumerate(soft):
        row = model.rows[place]
        # Mass may only fall short: more than the furnace was asked for is no way out.
        extra[place, column] = 1.0 if np.isfinite(row.low) else -1.0
    weights = np.array([1.0 / _size(model, model.rows[place]) for place in soft])
    done = solve(model, np.r_[np.zeros(2 * len(model.parts)), weights], model.rows, extra)
    if done.x is None:
        return []
    counts = np.round(done.x[: len(model.parts)])
    slacks = done.x[2 * len(model.parts) :]
    given = [model.rows[place] for place, slack in zip(soft, slacks, strict=True) if slack > _NOTHING]
    found = [_as_reached(model, row, counts) for row in given]
    # A charge of nothing keeps every limit and helps nobody.
    return _once([one for one in found if len(limits) > 1 or one.limit != "mass" or one.reached > 0])


def _size(model: Model, row: Row) -> float:
    """Return a breach of a row that hurts about as much as one of another, in units of the row."""
    return _HURTS_RATIO[row.limit] * (100.0 if row.limit == "weigh" else model.request.mass_g)


def _as_reached(model: Model, row: Row, counts: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Obstacle:
    """Return what the limit comes to in the charge that was found."""
    wish, mass_g = model.request, model.unit_g * counts
    whole_g = float(mass_g.sum())
    if row.limit == "mass":
        return Obstacle("mass", "", wish.mass_g, whole_g, "g")
    if whole_g <= 0:
        return Obstacle(row.limit, row.subject, wish.mass_g, 0.0, "g")
    if row.limit == "weigh":
        place = next(place for place, one in enumerate(model.parts) if one.lot == row.subject)
        return Obstacle("weigh", row.subject, wish.weigh_least_g, float(mass_g[place]), "g")
    left_g = mass_g @ model.best_frac
    if row.limit == "fineness":
        least, error_g = model.guarded
        over_g = float(least @ mass_g - error_g @ (counts > 0))
        return Obstacle("fineness", "", wish.standard_permille,
                        wish.standard_permille + 1000.0 * over_g / float(left_g.sum()), "permille")  # fmt: skip
    if row.limit == "window":
        name, end = row.subject.split()
        share = float(left_g[model.elements.index(name)] / left_g.sum()) if name in model.elements else 0.0
        return Obstacle("window", name, wish.windows_frac[name][0 if end == "least" else 1], share, "frac")
    return _of_age(model, row, mass_g)


def _of_age(model: Model, row: Row, mass_g: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Obstacle:
    wish, whole_g = model.request, float(mass_g.sum())
    melts = np.array([one.melts_count for one in model.parts], dtype=float)
    if row.limit == "new":
        new = np.array([float(one.is_new) for one in model.parts])
        return Obstacle("new", "", wish.new_least_frac, float(new @ mass_g) / whole_g, "frac")
    if row.limit == "melts":
        return Obstacle("melts", "", float(wish.melts_mean_most_count or 0.0), float(melts @ mass_g) / whole_g, "count")
    old = (melts >= wish.old_melts_count).astype(float)
    return Obstacle("old", "", wish.old_most_frac, float(old @ mass_g) / whole_g, "frac")


def _buy(model: Model) -> list[Obstacle]:
    """Return how much more of a new grain alone would do."""
    found = []
    for place, part in enumerate(model.parts):
        if part.whole or not part.is_new:
            continue
        plenty = replace(part, mass_g=part.mass_g + model.request.mass_g + model.request.surplus_most_g)
        richer = Model((*model.parts[:place], plenty, *model.parts[place + 1 :]), model.request)
        aim = np.zeros(2 * len(model.parts))
        aim[place] = richer.unit_g[place]
        done = solve(richer, aim, richer.rows)
        if done.x is not None:
            needed_g = float(np.round(done.x[place]) * richer.unit_g[place])
            found.append(Obstacle("stock", part.lot, needed_g, part.mass_g, "g"))
    return found


def _once(found: list[Obstacle]) -> list[Obstacle]:
    return list(dict.fromkeys(found))
