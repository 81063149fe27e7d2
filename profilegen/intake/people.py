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
        self._by_id: dict[str, list[str]] = {}
        self._names: dict[str, str] = {}
        for athlete in athletes:
            self._by_id.setdefault(folded(athlete.id), []).append(athlete.id)
            self._by_name.setdefault(_any_order(athlete.name), []).append(athlete.id)
            self._names[athlete.id] = athlete.name

    def with_id(self, word: str) -> str:
        """The lifter whose id `word` is, as it stands or but for capitals and marks.

        Raises:
            CellError: nobody, or more than one.
        """
        ids = [word] if word in self._names else self._by_id.get(folded(word), [])
        if not ids:
            said = f"expected the id of a lifter of the squad, found {quoted(word)}"
            raise CellError(said + self._hint(word, say_id=True))
        if len(ids) > 1:
            raise CellError(f"{len(ids)} lifters have an id like {quoted(word)}: {_listed(ids)}")
        return ids[0]

    def called(self, word: str, known_id: str | None = None) -> str:
        """The lifter whom `word` names: a name in any order of its parts, or else an id.

        An id as it stands means its lifter, unless it is another's name. `known_id` is the id
        that stands beside the name: it tells lifters of one name apart.

        Raises:
            CellError: nobody, or more than one.
        """
        named = self._by_name.get(_any_order(word), [])
        ids = {*named, word} if word in self._names else set(named)
        ids = ids or set(self._by_id.get(folded(word), ()))
        if not ids:
            said = f"expected a lifter of the squad, found {quoted(word)}"
            raise CellError(said + self._hint(word))
        if known_id in ids:
            return known_id
        if len(ids) > 1:
            what = "are called" if ids == set(named) else "can be meant by"
            where = "in a column headed id" if word in ids else ""
            raise CellError(f"{len(ids)} lifters {what} {quoted(word)}: {_listed(ids, where)}")
        return ids.pop()

    def _hint(self, word: str, *, say_id: bool = False) -> str:
        key = folded(word)
        known = {folded(name): id_ for id_, name in self._names.items()}
        known |= {folded(id_): id_ for id_ in self._names}
        close = difflib.get_close_matches(key[:80], known, n=1, cutoff=0.6)
        if not close:
            first = [name for name in known if key and key in name.split()]
            close = first if len(first) == 1 else []
        meant = ";"
        if close:
            likely = known[close[0]]
            meant = f", did you mean {quoted(likely if say_id else self._names[likely])}?"
        return f"{meant} someone new starts with: profilegen new NAME"


def _any_order(name: str) -> str:
    """`Veldt, Mara` and `Mara Veldt` are one."""
    return " ".join(sorted(folded(name).split()))


def _listed(ids: Iterable[str], where: str = "") -> str:
    write = f"write the id {where}".rstrip()
    return f"{write}, one of {', '.join(sorted(ids))}"
