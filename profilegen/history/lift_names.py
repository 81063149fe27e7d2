"""Lift names as coaches write them → ids of the catalogue."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache

from profilegen.history import plausible
from profilegen.history.words import nearest, quoted
from profilegen.norms.catalogue import Lift

CLEAN_AND_JERK = "clean_and_jerk"
"""Written in sets and bests although it is no lift of the catalogue: it is the smaller of
the clean and the jerk."""

TWO_LIFTS = "a clean and jerk is two lifts here: write clean or jerk"

_CLEAN_AND_JERK_ALIASES = ("clean_jerk", "c_and_j", "c_j", "cj")
_FAMILY_OF_CLEAN_AND_JERK = "clean_and_jerk"


class LiftNames:
    """Every name a lift may be written by: its id, its display name, its aliases.

    Capitals, spaces and hyphens make no difference: "Power clean" is `power_clean`.

    Args:
        lifts: the catalogue by lift id.
        spoken: gives a lift's name in another language, by which it may be called, too.
    """

    def __init__(
        self, lifts: Mapping[str, Lift], spoken: Callable[[str], str] | None = None
    ) -> None:
        self._ids: dict[str, str] = {}
        for lift in lifts.values():
            for name in (*lift.aliases, lift.name):
                self._ids.setdefault(normal(name), lift.id)
        self._spoken: dict[str, str] = {}
        if spoken is not None:
            named = {lift.id: spoken(lift.name) for lift in lifts.values()}
            named[CLEAN_AND_JERK] = spoken("Clean and jerk")
            for id_, name in named.items():
                self._ids.setdefault(normal(name), id_)
                self._spoken.setdefault(normal(name), name)
        for alias in _CLEAN_AND_JERK_ALIASES:
            self._ids.setdefault(alias, CLEAN_AND_JERK)
        # Last and overwriting: an id always means itself.
        self._ids.update((id_, id_) for id_ in (*lifts, CLEAN_AND_JERK))
        self._families = {lift.id: lift.family for lift in lifts.values()}
        self._families[CLEAN_AND_JERK] = _FAMILY_OF_CLEAN_AND_JERK
        self._names = [*lifts, CLEAN_AND_JERK]

    def find(self, word: str) -> str | None:
        """The lift's id, or None when nobody calls a lift that."""
        return self._ids.get(word) or self._ids.get(normal(word))

    def load_range_kg(self, lift: str | None) -> tuple[float, float]:
        """Plausible loads of a lift given by id, kg; the widest range for None."""
        return plausible.load_range_kg(self._families.get(lift or "", ""))

    def known(self) -> list[str]:
        """Every name there is a reason to suggest: ids, and names in the club's language."""
        return [*self._names, *self._spoken]

    def unknown(self, word: str) -> str:
        """What to say about a word that is no lift."""
        if normal(word) == "total":
            return "the total is not a lift: write the snatch and the clean and jerk"
        hint = nearest(normal(word), self.known(), cutoff=0.7)
        return f"expected a lift, found {quoted(word)}{hint or '; no lift is called that'}"


@lru_cache(maxsize=4096)
def normal(name: str) -> str:
    """One spelling for all ways to write a name.

    >>> normal("Power-Clean "), normal("Clean & jerk")
    ('power_clean', 'clean_and_jerk')
    """
    return re.sub(r"[\s_-]+", "_", name.strip().casefold().replace("&", " and ")).strip("_")
