"""A squad too large for one page: a directory to search, and a squad page per part.

A lifter is found by name, by training group or by body-mass class. Each part holds at most
`MOST_ON_A_PAGE` lifters by name. The directory and the parts are worked out from entries of
a few words a lifter; only a part's own page needs its lifters' summaries.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Any, Literal

from profilegen.engine.profile import Confidence
from profilegen.history.records import Club
from profilegen.norms.catalogue import Norms, Quality
from profilegen.report.drawn import script_json
from profilegen.report.head import page_head
from profilegen.report.links import ROSTER, SQUAD_DATA, href, part_path
from profilegen.report.page import (
    Cell,
    Column,
    DirectoryPage,
    Grid,
    GridRow,
    Link,
    Links,
    Search,
    Section,
    SquadPage,
)
from profilegen.report.squad import class_name, headline
from profilegen.report.summary import Summary
from profilegen.report.words import Voice, voice_for

MOST_ON_A_PAGE = 100
"""Lifters; a page of so many weighs some 300 kB."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What the directory says of one lifter."""

    lifter: str
    """As the caller names the lifter."""
    name: str
    href: str
    group: str
    body_class: str
    class_order: tuple[str, float]
    limiter: Quality | Literal["even"]
    confidence: Confidence

    def to_json(self) -> str:
        """The entry as text; `from_json` gives the same value back."""
        return json.dumps(astuple(self), separators=(",", ":"))

    @classmethod
    def from_json(cls, text: str | bytes) -> Entry:
        """An entry written by `to_json`."""
        raw: list[Any] = json.loads(text)
        lifter, name, page, group, body_class, order, limiter, confidence = raw
        return cls(lifter, name, page, group, body_class, tuple(order), limiter, confidence)


@dataclass(frozen=True, slots=True)
class Part:
    """One squad page of a large squad."""

    path: str
    by: Literal["group", "class", "name"]
    title: str
    entries: tuple[Entry, ...]
    """By name."""


def entry_of(lifter: str, summary: Summary, club: Club, norms: Norms) -> Entry:
    """A lifter's line in the directory."""
    return Entry(
        lifter=lifter,
        name=summary.name,
        href=summary.href,
        group=summary.group or "",
        body_class=class_name(voice_for(club, norms), summary),
        class_order=(summary.sex, summary.category_order),
        limiter=summary.limiter,
        confidence=summary.confidence,
    )


def _by_name(one: Entry) -> tuple[str, str, str]:
    return one.name.casefold(), one.name, one.lifter


def parts_of(entries: Iterable[Entry], club: Club, norms: Norms) -> tuple[Part, ...]:
    """Every page of a large squad: by group and by class, or by name without either."""
    by_name = sorted(entries, key=_by_name)
    voice = voice_for(club, norms)
    _ = voice.words._
    groups: dict[str, list[Entry]] = {}
    classes: dict[tuple[str, float, str], list[Entry]] = {}
    for one in by_name:
        groups.setdefault(one.group, []).append(one)
        classes.setdefault((*one.class_order, one.body_class), []).append(one)
    sets: list[tuple[Literal["group", "class", "name"], str, list[Entry]]] = []
    if set(groups) != {""}:
        # Those without a group come last.
        for name in sorted(groups, key=lambda name: (not name, name.casefold(), name)):
            sets.append(("group", name or _("No group"), groups[name]))
    if any(one.body_class for one in by_name):
        for key in sorted(classes, key=lambda key: (not key[2], *key)):
            sets.append(("class", key[2] or _("No class"), classes[key]))
    if not sets:
        sets.append(("name", club.name, by_name))
    parts: list[Part] = []
    for by, name, members in sets:
        pages = [
            members[start : start + MOST_ON_A_PAGE]
            for start in range(0, len(members), MOST_ON_A_PAGE)
        ]
        for number, page in enumerate(pages, start=1):
            title = name
            if len(pages) > 1:
                title = _("{name}, {number} of {all}").format(
                    name=name,
                    number=voice.show.number(number),
                    all=voice.show.number(len(pages)),
                )
            parts.append(Part(part_path(len(parts) + 1), by, title, tuple(page)))
    return tuple(parts)


def part_page(page: SquadPage, part: Part, parts: Sequence[Part], club: Club) -> SquadPage:
    """A squad page made of a part's lifters, named after the part and linked to its neighbours."""
    up = [replace(link, here=False) for link in page.head.links]
    links = [*up[:1], *part_links(part, parts), *up[1:]]
    head = replace(page.head, title=f"{part.title} · {club.name}", links=tuple(links))
    return replace(page, head=head, title=part.title)


def part_links(part: Part, parts: Sequence[Part]) -> list[Link]:
    """The pages before and after a part, of the same kind."""
    around = []
    for one, other in pairwise(parts):
        if other is part and one.by == part.by:
            around.append(Link(f"← {one.title}", href(one.path)))
        if one is part and other.by == part.by:
            around.append(Link(f"{other.title} →", href(other.path)))
    return around


def directory_page(
    parts: Sequence[Part], count: int, club: Club, norms: Norms, on: date, *, private: bool = True
) -> DirectoryPage:
    """The first page of a large squad: search, then its parts.

    Args:
        parts: as `parts_of` gives them.
        count: lifters in the squad.
        club, norms, on, private: as for `squad_page`.
    """
    voice = voice_for(club, norms)
    _ = voice.words._
    first = [one for part in parts if part.by == parts[0].by for one in part.entries]
    sentence = headline(voice, first)
    titles = {"group": _("By group"), "class": _("By class"), "name": _("By name")}
    sections = [
        Section(f"by-{by}", titles[by], "", (_table(voice, titles[by], by, parts),))
        for by in dict.fromkeys(part.by for part in parts)
    ]
    data = Links((Link(_("All numbers of this squad as data (squad.json)"), SQUAD_DATA),))
    sections[-1] = replace(sections[-1], blocks=(*sections[-1].blocks, data))
    head = page_head(voice, club, "squad", title=club.name, description=sentence, private=private)
    lifters = voice.words.ngettext("{number} lifter", "{number} lifters", count)
    return DirectoryPage(
        head=head,
        title=club.name,
        facts=(lifters.format(number=voice.show.number(count)), voice.show.day(on)),
        sentence=sentence,
        search=Search(
            script=ROSTER,
            label=_("Find a lifter"),
            found=_("{shown} of {all} shown"),
            without_script=_("Search needs a script; without one, the lists below hold everyone."),
        ),
        sections=tuple(sections),
    )


def _table(voice: Voice, title: str, by: str, parts: Sequence[Part]) -> Grid:
    _ = voice.words._
    columns = (
        Column(_("Page"), sortable=True),
        Column(_("From"), sortable=True),
        Column(_("To"), sortable=True),
        Column(_("Lifters"), numeric=True, sortable=True),
        Column(_("Held back by")),
    )
    rows = [
        GridRow(
            (
                Cell(part.title, href(part.path)),
                Cell(part.entries[0].name, sort=part.entries[0].name.casefold()),
                Cell(part.entries[-1].name, sort=part.entries[-1].name.casefold()),
                _count(voice, len(part.entries)),
                Cell(headline(voice, part.entries)),
            )
        )
        for part in parts
        if part.by == by
    ]
    return Grid(f"table-{by}", title, columns, tuple(rows))


def _count(voice: Voice, number: int) -> Cell:
    return Cell(voice.show.number(number), sort=str(number))


def roster_script(entries: Iterable[Entry]) -> str:
    """Everyone's name, page, group and class, as a script that any page may load from disk."""
    rows = [
        [one.name, href(one.href) if one.href else "", one.group, one.body_class]
        for one in sorted(entries, key=_by_name)
    ]
    return f"window.roster={script_json(rows)};\n"


def is_large(count: int) -> bool:
    """Whether a squad needs more than one page."""
    return count > MOST_ON_A_PAGE
