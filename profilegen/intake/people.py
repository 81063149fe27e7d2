"""Whom a sheet means: lifters by id or name, whatever the capitals and accents."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable

from profilegen.history.records import Athlete
from profilegen.history.words import quoted
from profilegen.intake.cells import CellError

_NO_DECOMPOSITION = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"}
)
_NOT_LETTERS = re.compile(r"[^\w]+|_+")


def folded(text: str) -> str:
    """Text without capitals, accents and marks between words.

    >>> folded("Søren  HALVGÅRD-Ñuñez")
    'soren halvgard nunez'
    """
    apart = unicodedata.normalize("NFKD", text.casefold()).translate(_NO_DECOMPOSITION)
    letters = "".join(c for c in apart if not unicodedata.combining(c))
    return _NOT_LETTERS.sub(" ", letters).strip()


class People:
    """The lifters of a squad by what a sheet may call them."""

    def __init__(self, athletes: Iterable[Athlete]) -> None:
        self._by_name: dict[str, list[str]] = {}
        self._by_id: dict[str, str] = {}
        self._names: dict[str, str] = {}
        for athlete in athletes:
            self._by_id[folded(athlete.id)] = athlete.id
            self._names[athlete.id] = athlete.name
            for key in {folded(athlete.name), _any_order(athlete.name)}:
                self._by_name.setdefault(key, []).append(athlete.id)

    def find(self, word: str) -> str:
        """The id of the lifter that `word` names: an id, or a name in any order of its parts.

        Raises:
            CellError: nobody, or more than one.
        """
        key = folded(word)
        if key in self._by_id:
            return self._by_id[key]
        ids = self._by_name.get(key) or self._by_name.get(_any_order(word)) or []
        if len(ids) == 1:
            return ids[0]
        if ids:
            raise CellError(f"{len(ids)} lifters are called {quoted(word)}: {_listed(ids)}")
        raise CellError(f"expected a lifter of the squad, found {quoted(word)}{self._hint(key)}")

    def _hint(self, key: str) -> str:
        known = {**{folded(name): id_ for id_, name in self._names.items()}, **self._by_id}
        close = difflib.get_close_matches(key[:80], known, n=1, cutoff=0.6)
        if not close:
            first = [name for name in known if key and key in name.split()]
            close = first if len(first) == 1 else []
        meant = f", did you mean {quoted(self._names[known[close[0]]])}?" if close else ";"
        return f"{meant} someone new starts with: profilegen new NAME"


def _any_order(name: str) -> str:
    """`Veldt, Mara` and `Mara Veldt` are one."""
    return " ".join(sorted(folded(name).split()))


def _listed(ids: list[str]) -> str:
    return "write the id, one of " + ", ".join(sorted(ids))
