"""Pages as plain frozen values: everything a template places, ready to be read.

A page is a head, a few fields of its own and a list of sections; a section is a title and
blocks. Templates choose a block's markup by its `kind` and never compute.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal, NamedTuple

from profilegen.report.chart import Chart, ChartWords, Drawable, Mark

Tone = Literal["plain", "caution"]


@dataclass(frozen=True, slots=True)
class Link:
    """Text that leads somewhere; `here` marks the page one is on."""

    text: str
    href: str
    here: bool = False


@dataclass(frozen=True, slots=True)
class Term:
    """One word of the trade, explained."""

    id: str
    name: str
    meaning: str
    also: tuple[str, ...] = ()
    """Other spellings that are recognised in running text."""


@dataclass(frozen=True, slots=True)
class Labels:
    """Words of the page's furniture: buttons, landmarks, marks."""

    skip: str
    menu: str
    contents: str
    theme: str
    private: str
    private_why: str
    filter_group: str
    filter_class: str
    everyone: str
    filtered: str
    """Read out after filtering, with {shown} and {all}."""
    nobody: str
    """The same where a choice leaves nobody."""
    scroll_table: str
    video: str
    chapters: str
    more_rows: str


@dataclass(frozen=True, slots=True)
class Head:
    """What every page carries."""

    language: str
    title: str
    description: str
    club: str
    root: str
    """The way up to the site's root: "" or "../../"."""
    links: tuple[Link, ...]
    labels: Labels
    chart_words: ChartWords
    private: bool
    accent: str | None
    """The club's colour as #rrggbb, for decoration only."""
    indexed: bool = False
    """Search engines may list the page."""
    glossary: tuple[Term, ...] = ()
    glossary_href: str = ""
    footer: tuple[str, ...] = ()
    plots: str = ""
    """Where the plots of the page's charts are: a script beside the page or, after "#", an
    element of the page. Empty: each stands beside its chart."""


@dataclass(frozen=True, slots=True)
class Prose:
    """Paragraphs."""

    kind: ClassVar[str] = "prose"
    paragraphs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of sentences."""

    kind: ClassVar[str] = "bullets"
    items: tuple[str, ...]
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True)
class Pair:
    """A name and what belongs to it; `id` makes it a link target."""

    name: str
    text: str
    id: str = ""


@dataclass(frozen=True, slots=True)
class Pairs:
    """A description list."""

    kind: ClassVar[str] = "pairs"
    items: tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class Notes:
    """What the coach wrote, as Markdown; hostile until render.py has cleaned it."""

    kind: ClassVar[str] = "notes"
    markdown: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """A chart."""

    kind: ClassVar[str] = "chart"
    chart: Chart


@dataclass(frozen=True, slots=True)
class Multiples:
    """Several small charts of one form side by side, with one legend."""

    kind: ClassVar[str] = "multiples"
    charts: tuple[Drawable, ...]


@dataclass(frozen=True, slots=True)
class Formula:
    """A named formula of templates/formulas/, with a sentence that reads it out."""

    kind: ClassVar[str] = "formula"
    name: str
    says: str
    words: Mapping[str, str]
    """What stands in it in words, by the names of its template."""


@dataclass(frozen=True, slots=True)
class Links:
    """A row of links."""

    kind: ClassVar[str] = "links"
    items: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a grid."""

    name: str
    numeric: bool = False
    sortable: bool = False


class Cell(NamedTuple):
    """One cell: text, an optional link, optional second and third lines, a key to sort by.

    A report has hundreds, and a frozen dataclass takes three times as long to make.
    """

    text: str
    href: str = ""
    more: str = ""
    mark: Mark | Literal[""] = ""
    sort: str = ""
    outside: bool = False
    """The link leaves the site (a video)."""
    language: str = ""
    """Of a quotation that stands in another language than the page."""
    also: str = ""
    """Below `more`."""


@dataclass(frozen=True, slots=True)
class GridRow:
    """Cells in column order; the first is the row's heading."""

    cells: tuple[Cell, ...]
    group: str = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table with links and two-line cells."""

    kind: ClassVar[str] = "grid"
    id: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[GridRow, ...]


@dataclass(frozen=True, slots=True)
class Side:
    """One column of a side-by-side table: who, and when."""

    name: str
    when: str
    href: str = ""
    then: bool = False
    """An earlier state of somebody who has a column of their own."""


@dataclass(frozen=True, slots=True)
class SideCell:
    """One value; `bar` is its share of the row's scale in percent, `shade` a heat step."""

    text: str
    more: str = ""
    bar: str = ""
    shade: str = ""


@dataclass(frozen=True, slots=True)
class SideRow:
    """One measure of everybody."""

    name: str
    cells: tuple[SideCell, ...]


@dataclass(frozen=True, slots=True)
class SideBySide:
    """A table with a column for each state of each lifter, two of which are shown at a time."""

    kind: ClassVar[str] = "side_by_side"
    id: str
    caption: str
    left: str
    right: str
    """Labels of the two choices."""
    sides: tuple[Side, ...]
    rows: tuple[SideRow, ...]


@dataclass(frozen=True, slots=True)
class Details:
    """Blocks one click away."""

    kind: ClassVar[str] = "details"
    summary: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class QualityCard:
    """One quality explained: what it is, how it shows, what to look at in training."""

    kind: ClassVar[str] = "quality"
    name: str
    facts: tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class Slider:
    """One value to move; its numbers are attributes of `<input type=range>`."""

    id: str
    name: str
    low: str
    high: str
    step: str
    value: str
    text: str
    """The value as it stands today."""


@dataclass(frozen=True, slots=True)
class WhatIfBlock:
    """Sliders, and what follows from moving them; see templates/assets/whatif.js."""

    kind: ClassVar[str] = "what_if"
    lifts_title: str
    lifts: tuple[Slider, ...]
    qualities_title: str
    qualities: tuple[Slider, ...]
    result_title: str
    results: tuple[Pair, ...]
    """What follows: `id` names the output."""
    reset: str
    without_script: str
    data_json: str
    """Escaped for a script element."""


Block = (
    Prose
    | Bullets
    | Pairs
    | Notes
    | Drawn
    | Multiples
    | Formula
    | Links
    | Grid
    | SideBySide
    | Details
    | QualityCard
    | WhatIfBlock
)


@dataclass(frozen=True, slots=True)
class Section:
    """One part of a page, reachable by its id."""

    id: str
    title: str
    lead: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class MainFigure:
    """One of the numbers under the verdict."""

    name: str
    value: str
    interval: str
    mark: Mark
    mark_text: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The verdict as a reader meets it: one sentence, how sure, what it would be worth."""

    sentence: str
    sure: str
    """What the chance means for someone who wants to act on it."""
    plates: tuple[bool, ...]
    """Ten; as many are filled as there are chances in ten. None where too little is known."""
    worth: str
    next: str
    """What comes second, or an empty text."""


@dataclass(frozen=True, slots=True)
class ReportPage:
    """One lifter's report."""

    head: Head
    name: str
    facts: tuple[str, ...]
    answer: Answer
    figures: tuple[MainFigure, ...]
    caution: str
    """One line under the verdict; for juniors it is theirs."""
    sections: tuple[Section, ...]
    chapter: str = ""
    """What the page holds when it is not the first of the report."""
    tabs: tuple[Link, ...] = ()
    """The report's chapters; empty when it is one page."""
    more: tuple[Link, ...] = ()
    """Pages that go on where this one ends."""
    bests: str = ""
    """About bests that lie above the figures; empty where none does."""


@dataclass(frozen=True, slots=True)
class LifterCard:
    """One lifter on the squad page."""

    name: str
    href: str
    facts: str
    group: str
    sentence: str
    plates: tuple[bool, ...]
    figures: tuple[Pair, ...]
    body_class: str = ""
    """Body-mass class with the sex it is for."""


@dataclass(frozen=True, slots=True)
class Shared:
    """Lifters who share a limiter."""

    name: str
    says: str
    lifters: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class SquadPage:
    """The whole squad on one page."""

    head: Head
    title: str
    facts: tuple[str, ...]
    sentence: str
    groups: tuple[str, ...]
    """Training groups to filter by; empty when there are fewer than two."""
    classes: tuple[str, ...]
    """Body-mass classes to filter by, likewise."""
    shared: Section
    shared_by: tuple[Shared, ...]
    cards: Section
    lifters: tuple[LifterCard, ...]
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class Search:
    """A field to find a lifter with, once the script that holds everyone is loaded."""

    script: str
    label: str
    found: str
    """Read out with the answers, with {shown} and {all}."""
    without_script: str


@dataclass(frozen=True, slots=True)
class DirectoryPage:
    """The first page of a squad that is too large for one page."""

    head: Head
    title: str
    facts: tuple[str, ...]
    sentence: str
    search: Search
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class MethodsPage:
    """How it works and every number behind it."""

    head: Head
    title: str
    lead: str
    sections: tuple[Section, ...]
