"""Every float that crosses a boundary of ours says its unit in its name, and docstring brackets agree with it."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
import typing

import numpy as np
import pint
import pytest

import pourwright
from pourwright.core.figure import Figure
from pourwright.core.units import SUFFIXES, suffix_of

_REGISTRY = pint.UnitRegistry()
# Names that are pure numbers by their nature, or whose unit stands in a field beside them.
_EXEMPT = {
    ("pourwright.core.interval.Interval", name) for name in ("low", "best", "high")
} | {
    ("pourwright.core.figure.Figure", name) for name in ("value", "low", "high", "moved")
} | {
    ("pourwright.core.figure.given", name) for name in ("value", "low", "high")
} | {
    ("pourwright.core.interval.Interval.exact", "value")
} | {
    ("pourwright.matter.practice.Rule", name) for name in ("value", "low", "high")
} | {
    ("pourwright.matter.safety.Prompt", "value")
} | {
    ("pourwright.doors.service.verify.Check", name) for name in ("ours", "reference", "tolerance")
} | {
    ("pourwright.prepare.charge.optimum.request.Obstacle", name) for name in ("asked", "reached")
} | {  # rows of an integer programme, each in a unit of its own
    ("pourwright.prepare.charge.optimum.model.Row", name) for name in ("coefficients", "low", "high")
} | {
    ("pourwright.prepare.charge.optimum.model.solve", name) for name in ("aim", "extra")
} | {
    ("pourwright.prepare.charge.optimum.model.Model.is_fine", "counts")
}  # fmt: skip


# A unit vector has no unit, and a figure of any kind carries its unit with it.
_OF_ANY_UNIT = {"axis", "normals", "directions", "figure"}


def _unit(text):
    """Return the unit; ``cm3`` is as good as ``cm**3``, and ``-`` is a pure number."""
    return _REGISTRY.Unit("" if text == "-" else re.sub(r"(?<=[a-z])(\d)", r"**\1", text.replace("**", "")))


def _modules():
    for info in pkgutil.walk_packages(pourwright.__path__, "pourwright."):
        if not info.name.endswith("__main__"):
            yield importlib.import_module(info.name)


def _is_float(annotation: object) -> bool:
    if annotation in (float, np.float64, Figure):
        return True
    if typing.get_origin(annotation) in (np.ndarray,):
        return "float" in str(annotation)
    return any(_is_float(part) for part in typing.get_args(annotation) if typing.get_origin(annotation) is not dict
               and not str(typing.get_origin(annotation)).startswith("<class 'collections.abc."))  # fmt: skip


def _public_callables(module):
    for name, value in vars(module).items():
        if name.startswith("_") or getattr(value, "__module__", None) != module.__name__:
            continue
        if inspect.isclass(value):
            if dataclasses.is_dataclass(value):
                yield f"{module.__name__}.{name}", value
            for member_name, member in vars(value).items():
                function = member.fget if isinstance(member, property) else getattr(member, "__func__", member)
                if not member_name.startswith("_") and inspect.isfunction(function):
                    yield f"{module.__name__}.{name}.{member_name}", function
        elif inspect.isfunction(value):
            yield f"{module.__name__}.{name}", value


def _named_floats(thing):
    hints = typing.get_type_hints(thing)
    if dataclasses.is_dataclass(thing):
        return [(one.name, hints[one.name]) for one in dataclasses.fields(thing) if _is_float(hints[one.name])]
    return [(name, hint) for name, hint in hints.items() if name != "return" and _is_float(hint)]


def _unit_said(doc: str, name: str) -> str | None:
    """Return the unit that the docstring gives in brackets for a parameter; ``a, b : float`` may have ``[m, kg]``."""
    block = re.search(rf"^\s*((?:\w+, )*{name}(?:, \w+)*) : .*(?:\n(?!\s*\w+(?:, \w+)* : |\s*\n).*)*", doc, re.M)
    bracket = block and re.search(r"\[([^\]]+)\]", block[0])
    if not bracket:
        return None
    names, units = block[1].split(", "), [one.strip() for one in bracket[1].split(",")]
    if len(units) == len(names):
        return units[names.index(name)]
    return units[0] if len(units) == 1 and len({suffix_of(one) for one in names}) == 1 else None


def _problems(full_name: str, thing) -> list[str]:
    doc = inspect.getdoc(thing) or ""
    found = []
    for name, _ in _named_floats(thing):
        if (full_name, name) in _EXEMPT or name in _OF_ANY_UNIT:
            continue
        suffix = suffix_of(name)
        if suffix is None:
            found.append(f"{full_name}({name}): a float with no unit in its name")
            continue
        said = _unit_said(doc, name)
        if said and _unit(said) != _unit(SUFFIXES[suffix]):
            found.append(f"{full_name}({name}): name says {SUFFIXES[suffix]}, docstring says {said}")
    if inspect.isfunction(thing) and typing.get_type_hints(thing).get("return") is float:
        says = suffix_of(thing.__name__) or re.search(r"\[[^\]]+\]|in ``", doc)
        if not says:
            found.append(f"{full_name}: returns a float; neither its name nor its docstring says the unit")
    return found


def test_floats_carry_their_unit():
    problems = [line for module in _modules() for name, thing in _public_callables(module)
                for line in _problems(name, thing)]  # fmt: skip
    assert not problems, "\n".join(problems)


def test_public_things_have_docstrings():
    missing = [name for module in _modules() for name, thing in _public_callables(module) if not inspect.getdoc(thing)]
    assert not missing, "\n".join(missing)


@dataclasses.dataclass
class _Bad:
    """Breaks the rule on purpose."""

    mass: float


def _bad_function(temp_C: float) -> float:
    """Heat.

    Parameters
    ----------
    temp_C : float
        Temperature [K].
    """
    return temp_C


@pytest.mark.parametrize(("thing", "word"), [(_Bad, "no unit"), (_bad_function, "docstring says K")])
def test_the_test_can_fail(thing, word):
    assert any(word in line for line in _problems("here", thing))
