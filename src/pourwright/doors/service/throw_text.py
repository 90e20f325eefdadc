"""What a caster reads of a filled flask."""

from __future__ import annotations

from pourwright.core.figure import Figure
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.throw import ThrowAnswer, ThrownFlask
from pourwright.physics.fill.results import Fate
from pourwright.simulate.throw_summary import FATE_WORDS, THROW_WORDS, FillWindow, PieceFill, ThinFill, ThrowSummary

_DRIVES = {"spin": "doors.throw-by-spin", "vacuum": "doors.throw-by-vacuum", "gravity": "doors.throw-by-gravity"}
_STATES = {"fills": "doors.throw-fills", "open": "doors.throw-open", "fails": "doors.throw-fails"}


def as_text(answer: ThrowAnswer) -> str:
    """Return what a caster wants to know of each flask."""
    blocks = [_flask(one, one.summary) for one in answer.flasks if one.summary is not None]
    if blocks:
        blocks.append("\n".join([say("doors.throw-not-seen"), say("doors.throw-caution")]))
    return "\n\n".join([*blocks, "\n".join(str(one) for one in answer.files)]).strip("\n")


def _flask(one: ThrownFlask, said: ThrowSummary) -> str:
    lines = [_head(one, said), "  " + _when(said)]
    for piece in said.pieces:
        lines += ["", *_piece(piece)]
    lines += ["", *("  " + line for line in _rest(said))]
    return "\n".join(line.rstrip() for line in lines)


def _head(one: ThrownFlask, said: ThrowSummary) -> str:
    drive = say(_DRIVES[said.head], turns=show(said.turns_turns or 0.0, "turns"))
    return say(
        "doors.throw-head",
        load=one.id,
        flask=one.flask,
        temperature=show(said.flask_temperature_C.value, "C"),
        pour=show(said.pour_temperature_C.value, "C"),
        drive=drive,
        side=show(said.side_mm, "mm", 2),
    )


def _when(said: ThrowSummary) -> str:
    if said.runs_from_s is None or said.runs_to_s is None:
        return say("doors.throw-no-metal")
    span = {"first": show(said.runs_from_s, "s", 2), "last": show(said.runs_to_s, "s", 2)}
    return say("doors.throw-runs", **span)


def _piece(one: PieceFill) -> list[str]:
    lines = [f"  {one.piece}  {_surely(one)}"]
    details = [_arrival(one), _margin(one), _decided(one), *(_thin(place) for place in one.thin)]
    if one.window is not None:
        details.append(window_words(one.window))
    return lines + [f"      {line}" for line in details if line]


def _surely(one: PieceFill) -> str:
    words = say(_STATES[one.state])
    if not one.runs_count:
        return words
    return f"{words} " + say("doors.throw-counted", filled=one.filled_count, runs=one.runs_count)


def _arrival(one: PieceFill) -> str:
    if one.last_arrival_s is None:
        return say("doors.throw-none-came")
    x, y, z = (f"{side:.0f}" for side in one.last_place_mm)
    key = "doors.throw-empty-at" if one.stopped_by else "doors.throw-full"
    return say(key, time=span_words(one.last_arrival_s), x=x, y=y, z=z, share=f"{100 * one.filled_frac:.0f}")


def span_words(figure: Figure) -> str:
    """Return a time with its range, if it has one that shows."""
    best = show(figure.value, "s", 2)
    if f"{figure.low:.2f}" == f"{figure.high:.2f}":
        return best
    return say("doors.throw-span", best=best, low=f"{figure.low:.2f}", high=show(figure.high, "s", 2))


def _margin(one: PieceFill) -> str:
    if one.stopped_by:
        return say("doors.throw-stopped-by", why=say(FATE_WORDS[Fate[one.stopped_by]]))
    if one.misrun_ratio is None:
        return ""
    return say("doors.throw-margin", share=f"{100 * one.misrun_ratio:.0f}")


def _decided(one: PieceFill) -> str:
    return say("doors.throw-decides", name=say(THROW_WORDS[one.decided_by])) if one.decided_by else ""


def _thin(one: ThinFill) -> str:
    x, y, z = (f"{side:.0f}" for side in one.place_mm)
    wall = {"wall": show(one.thickness_mm, "mm", 2), "x": x, "y": y, "z": z}
    if one.fill_probability_frac is None:
        return say("doors.throw-thin", **wall)
    return say("doors.throw-thin-counted", share=f"{100 * one.fill_probability_frac:.0f}", **wall)


def window_words(one: FillWindow) -> str:
    """Return the flask temperatures of a piece in words."""
    wanted, most = f"{100 * one.wanted_frac:.0f}", show(one.high_tried_C, "C")
    if one.low_C is None:
        return say("doors.throw-window-none", wanted=wanted, most=most)
    if one.frozen and (one.high_C is None or one.high_C < one.low_C):
        return say("doors.throw-window-cold", wanted=wanted, low=show(one.low_C, "C"))
    high = show(one.high_C if one.high_C is not None else one.high_tried_C, "C")
    return say("doors.throw-window-is", wanted=wanted, low=f"{one.low_C:.0f}", high=high)


def _rest(said: ThrowSummary) -> list[str]:
    lines = []
    for pocket in said.pockets:
        key = "doors.throw-pocket-out" if pocket.filled else "doors.throw-pocket"
        x, y, z = (f"{side:.0f}" for side in pocket.place_mm)
        lines.append(say(key, piece=pocket.piece, volume=show(pocket.volume_mm3, "mm3", 1), x=x, y=y, z=z))
    fast = max(said.pieces, key=lambda one: one.speed_m_s)
    lines.append(say("doors.throw-fastest", piece=fast.piece, speed=show(fast.speed_m_s, "m_s", 1)))
    lines.append(say("doors.throw-books", error=f"{said.mass_error_frac:.0e}", left=show(said.left_over_g, "g", 1)))
    return lines
