"""The message catalogue: every sentence a person reads is looked up here by its key.

A key is ``room.name`` or ``room.code.part``, for example ``shape.mesh-open.what``. The room is the gettext
domain: its sentences stand in ``locale/<language>/LC_MESSAGES/<room>.po``.
"""

from __future__ import annotations

import gettext
import os
from functools import lru_cache
from pathlib import Path

from pourwright.core.errors import DataError

LOCALE_DIR = Path(__file__).resolve().parents[1] / "locale"
LANGUAGE_VARIABLE = "POURWRIGHT_LANGUAGE"
DEFAULT_LANGUAGE = "en"


@lru_cache(maxsize=64)
def _catalogue(room: str, language: str) -> gettext.NullTranslations:
    languages = [language, DEFAULT_LANGUAGE]
    return gettext.translation(room, LOCALE_DIR, languages=languages, fallback=True)


def language_in_use() -> str:
    """Return the language asked for by the environment, or English."""
    return os.environ.get(LANGUAGE_VARIABLE, DEFAULT_LANGUAGE)


def has(key: str) -> bool:
    """Return whether the catalogue knows the key."""
    return _catalogue(key.partition(".")[0], language_in_use()).gettext(key) != key


def say(key: str, /, **params: object) -> str:
    """Return the sentence for a key with its blanks filled.

    Parameters
    ----------
    key : str
        ``room.name``; the room names the catalogue file.
    **params : object
        Values for the ``{blanks}`` in the sentence, already formatted where units matter.

    Raises
    ------
    DataError
        The key is not in the catalogue, or a blank has no value: a fault in the program, not in the input.
    """
    room = key.partition(".")[0]
    sentence = _catalogue(room, language_in_use()).gettext(key)
    if sentence == key:
        raise DataError(f"message catalogue '{room}' has no entry '{key}'")
    try:
        return sentence.format(**params)
    except (KeyError, IndexError) as missing:
        raise DataError(f"message '{key}' needs a value for {missing}") from missing
