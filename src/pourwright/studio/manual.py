"""The tables of keys in the manual, made from the one table of keys that reading uses."""

from __future__ import annotations

from pourwright.core.text import say
from pourwright.matter.practice import Rule, rule
from pourwright.studio.calibration_reading import MEASURABLE
from pourwright.studio.fields import Field, Kind, Section
from pourwright.studio.keys import FILES

# Everything after this line of the manual page is made here.
MARK = "<!-- keys: made from the program, do not edit below -->"
_HEAD = ("key", "example", "meaning", "default")


def with_keys(page: str) -> str:
    """Return the manual page with its tables of keys made anew."""
    return f"{page.partition(MARK)[0]}{MARK}\n\n{describe_keys()}"


def describe_keys() -> str:
    """Return every key of the three files as Markdown: example, meaning, and what is meant when it is left out."""
    parts = []
    for name, top in FILES.items():
        parts += [f"### {name}.toml", "", say(top.about), "", *_table(top)]
        for path, section in _sections(top):
            header = f"[[{path}]]" if section.many else f"[{path}]"
            parts += [f"#### `{header}`", "", say(section.about), "", *_table(section)]
        if name == "calibration":
            parts += _measurable()
    return "\n".join(parts).rstrip() + "\n"


def _sections(top: Section, path: str = "") -> list[tuple[str, Section]]:
    found = []
    for one in top.fields:
        if one.rows is not None:
            inner = f"{path}{one.rows.key}"
            found += [(inner, one.rows), *_sections(one.rows, f"{inner}.")]
    return found


def _table(section: Section) -> list[str]:
    rows = [_row(one) for one in section.fields if one.kind is not Kind.ROWS]
    return [_line(_HEAD), _line(["---"] * len(_HEAD)), *rows, ""]


def _row(one: Field) -> str:
    meaning = say(one.about)
    if one.choices:
        meaning += " " + say("studio.one-of", words=", ".join(one.choices))
    return _line((f"`{one.key}`", f"`{one.shown}`", meaning, _default(one)))


def _line(cells: tuple[str, ...] | list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _default(one: Field) -> str:
    if one.needed:
        return say("studio.must-stand")
    if one.rule:
        return f"{_figures(rule(one.rule), one)} ({one.rule})"
    if isinstance(one.default, bool):
        return str(one.default).lower()
    if isinstance(one.default, tuple) and one.default:
        return ", ".join(str(word) for word in one.default)
    return str(one.default) if one.default not in (None, "", ()) else "–"


def _figures(found: Rule, one: Field) -> str:
    unit = found.unit.split()[0]
    span = f"{found.low:g} to {found.high:g} {unit}" if found.low is not None and found.high is not None else ""
    which = {
        "value": f"{found.value:g} {unit}" if found.value is not None else "",
        "low": f"{found.low:g} {unit}" if found.low is not None else "",
        "high": f"{found.high:g} {unit}" if found.high is not None else "",
        "rest": f"100 {unit} less {found.low:g} {unit}" if found.low is not None else "",
    }
    return which.get(one.take.value, span)


def _measurable() -> list[str]:
    head = [say("studio.measurable"), "", _line(("quantity", "subject", "example", "meaning")), _line(["---"] * 4)]
    rows = [
        _line((f"`{name}`", one.subjects or "–", f"`{_plain_example(one.field)}`", say(one.field.about)))
        for name, one in MEASURABLE.items()
    ]
    return [*head, *rows, ""]


def _plain_example(one: Field) -> str:
    return one.shown if one.shown.startswith('"') else one.shown.split("best = ")[1].split(",")[0]
