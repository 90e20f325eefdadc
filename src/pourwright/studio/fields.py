"""What a key of our files may hold: the one description that reading, schema and manual are made from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from pourwright.core.units import SUFFIXES, example_of, suffix_of


class Kind(StrEnum):
    """How a value is written."""

    TEXT = "text"
    NUMBER = "number"  # a text with a unit, a span "880..910 permille", or a table of best, low and high
    MEASURED = "measured"  # the same, or a bare number beside a key that holds the unit
    COUNT = "count"
    FLAG = "flag"
    CHOICE = "choice"
    TEXTS = "texts"
    POINT = "point"  # three plain numbers in mm, along the axes of a pattern file
    DATE = "date"
    CLOCK = "clock"
    MOMENT = "moment"
    ROWS = "rows"


class Take(StrEnum):
    """Which number of a practice rule serves as default: one end, or the middle with the ends as its range."""

    VALUE = "value"
    LOW = "low"
    HIGH = "high"
    MIDDLE = "middle"
    LOW_TO_HIGH = "high-of-range"
    REST = "rest"


@dataclass(frozen=True)
class Field:
    """One key.

    Parameters
    ----------
    key, attr : str
        Name in the file, and in the dataclass that it fills (there with its unit).
    kind : Kind
        How the value is written.
    about : str
        Catalogue key of the sentence that explains it.
    needed : bool
        Whether it may be left out.
    default : object
        What is meant when it is left out and no rule says otherwise.
    rule, take : str, Take
        Practice rule that gives the default, and which of its numbers.
    above, least, most : str
        Limits, each written with its unit; ``above`` itself is not allowed.
    step : bool
        A difference of temperatures, not a temperature.
    troy : bool
        Metal: an ounce must say which ounce.
    choices : tuple of str
        The words allowed for a choice, or in a list of texts.
    example : str
        As written in the file after the equals sign.
    rows : Section or None
        What the rows hold.
    """

    key: str
    attr: str
    kind: Kind
    about: str
    needed: bool = True
    default: object = None
    rule: str = ""
    take: Take = Take.VALUE
    above: str = ""
    least: str = ""
    most: str = ""
    step: bool = False
    troy: bool = False
    choices: tuple[str, ...] = ()
    example: str = ""
    rows: Section | None = None

    @property
    def unit(self) -> str:
        """Unit of a number as a suffix, for example ``mm``; empty for other kinds."""
        return (suffix_of(self.attr) or "") if self.kind is Kind.NUMBER else ""

    @property
    def pint_unit(self) -> str:
        """Unit to read a number into."""
        return "delta_degC" if self.step else SUFFIXES[self.unit]

    @property
    def shown(self) -> str:
        """A well-written value, as it stands after the equals sign."""
        if self.example:
            return self.example
        usual = {
            Kind.NUMBER: f'"{example_of(self.pint_unit)}"' if self.unit else "",
            Kind.COUNT: "1",
            Kind.FLAG: "true",
            Kind.CHOICE: f'"{self.choices[0]}"' if self.choices else "",
        }
        return usual.get(self.kind, '"..."')


@dataclass(frozen=True)
class Section:
    """A table of a file, or a kind of row in it.

    Parameters
    ----------
    key : str
        Its name in brackets, empty for the top of the file.
    record : callable
        Dataclass that it fills.
    about : str
        Catalogue key of the sentence that explains it.
    fields : tuple of Field
        In the order of the manual.
    many : bool
        Written with double brackets, any number of times.
    needed : bool
        Whether at least one must be there.
    """

    key: str
    record: Callable[..., object]
    about: str
    fields: tuple[Field, ...]
    many: bool = True
    needed: bool = True


def text(key: str, about: str, needed: bool = True, example: str = "", attr: str = "", default: object = "") -> Field:
    """Return a field that holds a text."""
    return Field(key, attr or key, Kind.TEXT, about, needed, default, example=example)


def texts(
    key: str,
    about: str,
    needed: bool = True,
    example: str = "",
    choices: tuple[str, ...] = (),
    default: tuple[str, ...] = (),
) -> Field:
    """Return a field that holds a list of texts."""
    return Field(key, key, Kind.TEXTS, about, needed, default, example=example, choices=choices)


def choice(key: str, about: str, choices: tuple[str, ...], default: str = "", needed: bool = False) -> Field:
    """Return a field that holds one of some words."""
    return Field(key, key, Kind.CHOICE, about, needed, default, choices=choices)


def flag(key: str, about: str, default: bool, attr: str = "") -> Field:
    """Return a field that holds true or false."""
    return Field(key, attr or key, Kind.FLAG, about, needed=False, default=default)


def count(key: str, attr: str, about: str, default: int | None = None, least: int = 1) -> Field:
    """Return a field that holds a whole number."""
    return Field(key, attr, Kind.COUNT, about, default is None, default, least=str(least))


def number(
    key: str,
    attr: str,
    about: str,
    *,
    above: str = "",
    least: str = "",
    most: str = "",
    needed: bool = True,
    rule: str = "",
    take: Take = Take.VALUE,
    step: bool = False,
    troy: bool = False,
    example: str = "",
) -> Field:
    """Return a field that holds a number with its unit; ``attr`` ends with the unit that it is kept in."""
    return Field(
        key,
        attr,
        Kind.NUMBER,
        about,
        needed and not rule,
        None,
        rule,
        take,
        above,
        least,
        most,
        step,
        troy,
        example=example,
    )
