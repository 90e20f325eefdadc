"""Errors for what cannot go on; what a user can mend is a finding (see findings.py)."""

from __future__ import annotations


class StudioError(Exception):
    """Something that stops the program; its message is already a sentence for the user."""


class DataError(StudioError):
    """A table that ships with the program is incomplete, or a name is not in it."""


class UnitError(StudioError):
    """A text that should hold a number with its unit does not."""


class FindingsError(StudioError):
    """Something that stops the program for reasons that a user can mend, all of them carried along.

    Parameters
    ----------
    message : str
        One sentence.
    findings : tuple
        The :class:`pourwright.core.findings.Finding` objects that say all that is wrong.
    """

    def __init__(self, message: str, findings: tuple[object, ...] = ()) -> None:
        super().__init__(message)
        self.findings = findings


class ProfileError(FindingsError):
    """A studio or day file cannot be used; carries its findings."""


class MeshError(StudioError):
    """A pattern file cannot be used; carries the finding that says why.

    Parameters
    ----------
    message : str
        One sentence.
    finding : object
        The :class:`pourwright.core.findings.Finding`, or None.
    """

    def __init__(self, message: str, finding: object = None) -> None:
        super().__init__(message)
        self.finding = finding


class SolverError(FindingsError):
    """A simulation cannot start or cannot go on; the message says what, where, and what would help."""


class LedgerError(FindingsError):
    """Something that the metal book refuses; carries its findings, and nothing of it was booked."""
