"""Ctrl-C during a long run: the first asks it to stop at a good place, the second stops at once."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

import click

from pourwright.core.text import say


@contextmanager
def until_stopped() -> Iterator[Callable[[], bool]]:
    """Give a function that says whether Ctrl-C was pressed; puts back the usual meaning afterwards."""
    pressed: list[int] = []

    def note(number: int, frame: FrameType | None) -> None:  # noqa: ARG001 - the shape of a signal handler
        if pressed:
            raise KeyboardInterrupt
        pressed.append(number)
        click.echo("\n" + say("doors.freeze-stopping"), err=True)

    before = signal.signal(signal.SIGINT, note)
    try:
        yield lambda: bool(pressed)
    finally:
        signal.signal(signal.SIGINT, before)
