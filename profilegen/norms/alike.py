"""Which lifts are so much alike that to avoid the one is to avoid the others: data and loader.

The loader refuses a lift it does not know, a lift that stands in no group or in two, and a line
without its reason.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Any

import yaml

from profilegen.errors import NormsError
from profilegen.norms.checker import Checker

FILE = "alike.yaml"
CLEAN_AND_JERK = "clean_and_jerk"
_HALVES = frozenset({"clean", "jerk"})


@dataclass(frozen=True, slots=True)
class Alike:
    """What goes with each lift of the catalogue."""

    groups: Mapping[str, frozenset[str]]
    """By lift: every lift of its group, itself included."""
    besides: Mapping[str, frozenset[str]]
    """By lift: what is avoided too, one way."""

    def taken_along(self, avoided: Iterable[str], parents: Mapping[str, str]) -> frozenset[str]:
        """The lifts to avoid, and all that is much alike.

        parents: by id of a club's own lift, the lift it behaves like. A clean and jerk goes
        with either half; to avoid it (no file can, see history/schema.py) is to avoid the jerk.
        """
        listed = set(avoided)
        first = {parents.get(lift, lift) for lift in listed}
        if CLEAN_AND_JERK in first:
            first = first - {CLEAN_AND_JERK} | {"jerk"}
        alike = {other for lift in first for other in self._group(lift)}
        gone = alike | {other for lift in alike for other in self.besides.get(lift, ())}
        gone |= {own for own, parent in parents.items() if parent in gone}
        if gone & _HALVES:
            gone.add(CLEAN_AND_JERK)
        return frozenset(gone | listed)

    def same(self, first: str, second: str, parents: Mapping[str, str]) -> bool:
        """Whether two lifts ask the same of the body; a clean and jerk asks what its halves do."""
        a, b = parents.get(first, first), parents.get(second, second)
        if CLEAN_AND_JERK in (a, b):
            return a == b or bool({a, b} & {"clean", "jerk"})
        return b in self._group(a)

    def _group(self, lift: str) -> frozenset[str]:
        """The lift's group; a lift whose parent nobody told stands alone."""
        return self.groups.get(lift, frozenset({lift}))


NOT_ALIKE = Alike(MappingProxyType({}), MappingProxyType({}))
"""Every lift stands alone."""


def read_alike(folder: Traversable | Path, known: Collection[str]) -> Alike:
    """Read and check alike.yaml for the lifts of the catalogue, `known` by id.

    Raises NormsError naming every problem at once.
    """
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        raw = yaml.load(folder.joinpath(FILE).read_text(encoding="utf-8"), Loader=loader)
    except (OSError, yaml.YAMLError) as error:
        raise NormsError(f"{FILE}: cannot be read: {error}") from error
    check = Checker(())
    tables = check.mapping(raw, FILE, {"groups", "besides"})
    groups: dict[str, frozenset[str]] = {}
    for number, row in enumerate(
        check.rows(tables.get("groups"), f"{FILE}: groups", {"lifts", "because"}), start=1
    ):
        where = f"{FILE}: groups: {number}"
        check.text(row["because"], where)
        group = _lifts(check, row["lifts"], where, known)
        for lift in sorted(group & groups.keys()):
            check.complain(where, f"{lift} stands in two groups")
        groups |= dict.fromkeys(group, group)
    for lift in known:
        if lift not in groups:
            check.complain(f"{FILE}: groups", f"{lift} is missing")
    besides: dict[str, frozenset[str]] = {}
    for number, row in enumerate(
        check.rows(tables.get("besides"), f"{FILE}: besides", {"avoid", "also", "because"}), start=1
    ):
        where = f"{FILE}: besides: {number}"
        check.text(row["because"], where)
        also = _lifts(check, row["also"], where, known)
        for lift in _lifts(check, row["avoid"], where, known):
            besides[lift] = besides.get(lift, frozenset()) | also
    if check.problems:
        raise NormsError("\n".join(check.problems))
    return Alike(groups, besides)


def _lifts(check: Checker, raw: Any, where: str, known: Collection[str]) -> frozenset[str]:
    lifts = raw if isinstance(raw, list) else []
    if not lifts:
        check.complain(where, "expected a list of lifts")
    for lift in lifts:
        if lift not in known:
            check.complain(where, f"no lift called {lift}")
    return frozenset(str(lift) for lift in lifts)
