"""The pages and files that show more than one lifter, or none.

A page is made only when it is asked for, and of a large squad only one part's summaries are
held at a time. Its key says whether the last build's page will do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Protocol, TypeVar

from profilegen.build.manifest import sha256_of_parts
from profilegen.build.table import TABLE, squad_table
from profilegen.history.records import Club
from profilegen.norms.catalogue import Norms
from profilegen.render import Renderer
from profilegen.report.contract import squad_json, squad_line
from profilegen.report.links import METHODS, ROSTER, SQUAD, SQUAD_DATA
from profilegen.report.methods import methods_page
from profilegen.report.page import DirectoryPage, MethodsPage, SquadPage
from profilegen.report.squad import squad_page
from profilegen.report.squad_parts import (
    Entry,
    Part,
    directory_page,
    entry_of,
    is_large,
    part_links,
    part_page,
    parts_of,
    roster_script,
)
from profilegen.report.summary import Summary

AnyPage = TypeVar("AnyPage", SquadPage, DirectoryPage, MethodsPage)
Files = tuple[tuple[str, bytes], ...]
"""Paths in the site and contents."""


@dataclass(frozen=True, slots=True)
class SquadSetting:
    """What all pages of a squad share."""

    renderer: Renderer
    club: Club
    norms: Norms
    on: date
    private: bool = True
    indexed: bool = False
    """Search engines may list the pages."""
    table: bool = False
    """Also the numbers as a table for analysis."""


class KnownLifters(Protocol):
    """What there is to say of each lifter, looked up when it is needed."""

    def entry(self, lifter: str) -> Entry:
        """For the directory."""

    def line(self, lifter: str) -> bytes:
        """For squad.json."""

    def summary(self, lifter: str) -> Summary:
        """For a squad page."""


@dataclass(frozen=True, slots=True)
class SummarisedLifters:
    """Known by their summaries."""

    club: Club
    norms: Norms
    summaries: Mapping[str, Summary]

    def entry(self, lifter: str) -> Entry:
        """See `KnownLifters`."""
        return entry_of(lifter, self.summaries[lifter], self.club, self.norms)

    def line(self, lifter: str) -> bytes:
        """See `KnownLifters`."""
        return squad_line(self.summaries[lifter])

    def summary(self, lifter: str) -> Summary:
        """See `KnownLifters`."""
        return self.summaries[lifter]


@dataclass(frozen=True, slots=True)
class SharedPage:
    """One page or file, not made yet."""

    path: str
    key: str
    """Of the lifters that it shows; what every page depends on is left to the caller."""
    make: Callable[[], Files]


def shared_pages(
    setting: SquadSetting, lifters: Mapping[str, str], known: KnownLifters
) -> Iterator[SharedPage]:
    """Squad page or directory and parts, methods page, everyone's numbers.

    Args:
        setting: what the pages share.
        lifters: everyone, in the order of `squad.json`: a name for the lifter, and a hash
            that changes when the lifter's summary does.
        known: what the pages say of a lifter, by that name.
    """
    club, norms, on, renderer = setting.club, setting.norms, setting.on, setting.renderer

    def squad(who: Sequence[str]) -> SquadPage:
        found = [known.summary(one) for one in who]
        return _indexed(setting, squad_page(found, club, norms, on, private=setting.private))

    def numbers() -> Files:
        return ((SQUAD_DATA, squad_json(map(known.line, lifters), club.name, on)),)

    def table() -> Files:
        return ((TABLE, squad_table(map(known.line, lifters))),)

    def methods() -> Files:
        page = _indexed(setting, methods_page(norms, club, private=setting.private))
        return ((METHODS, renderer.methods(page).encode()),)

    everyone = sha256_of_parts(lifters.values())
    if is_large(len(lifters)):
        entries = [known.entry(one) for one in lifters]
        parts = parts_of(entries, club, norms)

        def directory() -> Files:
            page = directory_page(parts, len(entries), club, norms, on, private=setting.private)
            text = renderer.directory(_indexed(setting, page))
            return ((SQUAD, text.encode()), (ROSTER, roster_script(entries).encode()))

        yield SharedPage(SQUAD, everyone, directory)
        for part in parts:
            who = [one.lifter for one in part.entries]
            around = [part.title, *(link.text for link in part_links(part, parts))]

            def make(who: list[str] = who, part: Part = part) -> Files:
                return renderer.files(part_page(squad(who), part, parts, club), part.path)

            key = sha256_of_parts([*around, *(lifters[one] for one in who)])
            yield SharedPage(part.path, key, make)
    else:
        yield SharedPage(SQUAD, everyone, lambda: renderer.files(squad(list(lifters)), SQUAD))
    yield SharedPage(METHODS, "", methods)
    yield SharedPage(SQUAD_DATA, everyone, numbers)
    if setting.table:
        yield SharedPage(TABLE, everyone, table)


def _indexed(setting: SquadSetting, page: AnyPage) -> AnyPage:
    return replace(page, head=replace(page.head, indexed=setting.indexed))
