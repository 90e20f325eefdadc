"""Elements of a page as text in which nothing that a user wrote can become markup."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape


class Markup(str):
    """Text that is markup already; every other text is escaped where it meets an element."""

    __slots__ = ()


Child = str | None
_EMPTY = frozenset({"img", "link", "meta"})


def element(tag: str, *children: Child, **attributes: str) -> Markup:
    """Return an element with its children and attributes, each escaped unless it is :class:`Markup`.

    Parameters
    ----------
    tag : str
        Name of the element; ours, never a user's.
    *children : str or None
        None is left out.
    **attributes : str
        ``class_`` stands for ``class`` and an underscore inside a name for a hyphen. An empty value is left out, but
        for ``alt``, which says by being empty that a picture adds nothing.
    """
    written = "".join(
        f' {_name(name)}="{escape(value)}"' for name, value in attributes.items() if value or name == "alt"
    )
    if tag in _EMPTY:
        return Markup(f"<{tag}{written}>")
    return Markup(f"<{tag}{written}>{joined(children)}</{tag}>")


def joined(children: Iterable[Child], between: str = "") -> Markup:
    """Return children one after the other, with a text of ours between them."""
    return Markup(escape(between).join(safe(one) for one in children if one is not None))


def safe(child: str) -> Markup:
    """Return a text as markup that shows it letter for letter."""
    return child if isinstance(child, Markup) else Markup(escape(child))


def _name(name: str) -> str:
    return name.rstrip("_").replace("_", "-")
