"""Summaries -> SquadPage: who is held back by what, who stands where, who is up."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Literal, Protocol

from profilegen.engine.profile import Confidence, Verdict
from profilegen.history.records import Club
from profilegen.norms.catalogue import QUALITIES, Norms, Quality
from profilegen.report.head import page_head
from profilegen.report.links import SQUAD_DATA, href
from profilegen.report.page import (
    Cell,
    Column,
    Grid,
    GridRow,
    LifterCard,
    Link,
    Links,
    Pair,
    Section,
    Shared,
    SquadPage,
)
from profilegen.report.sections_squad_tests import squad_tests_section
from profilegen.report.squad_charts import body_mass_section, qualities_section, weeks_section
from profilegen.report.squad_compare import compare_section
from profilegen.report.summary import MAIN_LIFTS, Summary, says_something
from profilegen.report.words import (
    Voice,
    age_text,
    held_back_by,
    quality_heading,
    quality_name,
    sex_name,
    verdict_sentence,
    voice_for,
)

MOST_NAMED = 2
"""Qualities named in the headline; more of them at once would say nothing."""


class HasLimiter(Protocol):
    """Anything that says what holds one lifter back."""

    @property
    def limiter(self) -> Quality | Literal["even"]:
        """The quality."""

    @property
    def confidence(self) -> Confidence:
        """How sure that is."""


def squad_page(
    summaries: Iterable[Summary], club: Club, norms: Norms, on: date, *, private: bool = True
) -> SquadPage:
    """The whole squad on one page, lifters by name."""
    lifters = sorted(summaries, key=lambda one: (one.name.casefold(), one.id))
    voice = voice_for(club, norms)
    _ = voice.words._
    groups = sorted({one.group for one in lifters if one.group})
    classes = {
        class_name(voice, one): (one.sex, one.category_order) for one in lifters if one.category
    }
    # what is not known of somebody is not set beside what is known of others
    known = [one for one in lifters if one.known == "enough"]
    sections = (
        _qualities(voice, known, len(lifters) - len(known)),
        compare_section(voice, known),
        _table_section(voice, lifters),
        body_mass_section(voice, [one for one in lifters if one.level_known]),
        weeks_section(voice, lifters),
        squad_tests_section(voice, lifters, club, norms) if private else None,
    )
    sentence = headline(voice, lifters)
    return SquadPage(
        head=page_head(
            voice, club, "squad", title=club.name, description=sentence, private=private
        ),
        title=club.name,
        facts=(
            voice.words.ngettext("{number} lifter", "{number} lifters", len(lifters)).format(
                number=voice.show.number(len(lifters))
            ),
            voice.show.day(on),
        ),
        sentence=sentence,
        groups=tuple(groups) if len(groups) > 1 else (),
        classes=tuple(sorted(classes, key=lambda name: classes[name])) if len(classes) > 1 else (),
        shared=Section(
            "shared",
            _("Who shares what"),
            _("Lifters who could work on the same thing together, surest first."),
            (),
        ),
        shared_by=_shared(voice, lifters),
        cards=Section("lifters", _("Every lifter"), "", ()),
        lifters=tuple(_card(voice, one) for one in lifters),
        sections=tuple(section for section in sections if section is not None),
    )


def _qualities(voice: Voice, known: list[Summary], left_out: int) -> Section | None:
    """The six qualities of those of whom enough is known, and how many are not among them."""
    section = qualities_section(voice, known)
    if section is None or not left_out:
        return section
    lead = voice.words.ngettext(
        "Without {number} lifter of whom too little is known.",
        "Without {number} lifters of whom too little is known.",
        left_out,
    )
    return replace(section, lead=lead.format(number=left_out))


def headline(voice: Voice, lifters: Sequence[HasLimiter]) -> str:
    """What holds back most of these lifters, in one sentence."""
    _ = voice.words._
    settled = [one for one in lifters if one.confidence != "open" and one.limiter != "even"]
    if not settled:
        return _("No lifter is clearly held back by one quality yet.")
    counts = {key: sum(one.limiter == key for one in settled) for key in QUALITIES}
    most = max(counts.values())
    first = [quality_name(voice.words, key) for key in QUALITIES if counts[key] == most]
    if most == 1 or len(first) > MOST_NAMED:
        return _("Different lifters are held back by different things.")
    return voice.words.ngettext(
        "{qualities} holds back most lifters: {number} of {all}.",
        "{qualities} hold back most lifters: {number} of {all} each.",
        len(first),
    ).format(
        qualities=voice.show.capital(voice.show.listed(first)),
        number=voice.show.number(most),
        all=voice.show.number(len(lifters)),
    )


def _as_verdict(one: Summary) -> Verdict:
    return Verdict(
        one.limiter,
        one.chance,
        one.confidence,
        one.kilos,
        one.second,
        one.second_chance,
        one.known,
    )


def _sentence(voice: Voice, one: Summary) -> str:
    return verdict_sentence(replace(voice, name=one.name, junior=one.junior), _as_verdict(one))


def _facts(voice: Voice, one: Summary) -> str:
    facts = [sex_name(voice.words, one.sex, one.junior)]
    if one.age is not None:
        facts.append(age_text(voice.words, one.age))
    if one.body_mass_kg is not None:
        facts.append(voice.show.body_mass(one.body_mass_kg))
    if one.group:
        facts.append(one.group)
    return " · ".join(facts)


def _card(voice: Voice, one: Summary) -> LifterCard:
    filled = voice.show.of_ten(one.chance)
    lifts = [lift for lift in one.lifts if says_something(one.known, lift)]
    return LifterCard(
        name=one.name,
        href=href(one.href),
        facts=_facts(voice, one),
        group=one.group or "",
        sentence=_sentence(voice, one),
        plates=tuple(i < filled for i in range(10)) if one.known == "enough" else (),
        figures=tuple(
            Pair(voice.lift(lift.lift), voice.show.load(lift.estimate_kg)) for lift in lifts
        ),
        body_class=class_name(voice, one),
    )


def class_name(voice: Voice, one: Summary) -> str:
    """A body-mass class is one of women or of men."""
    _ = voice.words._
    if not one.category:
        return ""
    template = _("women {category}") if one.sex == "F" else _("men {category}")
    return template.format(category=_category(voice, one))


def _category(voice: Voice, one: Summary) -> str:
    """The class, if there is one to tell."""
    if one.category is None:
        return ""
    return voice.show.body_class(one.category.limit_kg, above=one.category.above)


def _shared(voice: Voice, lifters: list[Summary]) -> tuple[Shared, ...]:
    _ = voice.words._
    keys: tuple[Quality | Literal["even"], ...] = (*QUALITIES, "even")
    found: list[tuple[str, list[Summary]]] = []
    for key in keys:
        same = [one for one in lifters if one.limiter == key and one.confidence != "open"]
        if same:
            same.sort(key=lambda one: (-one.chance, one.name.casefold()))
            found.append((quality_heading(voice.words, key), same))
    undecided = [one for one in lifters if one.confidence == "open" and one.known == "enough"]
    if undecided:
        found.append((_("Still open"), undecided))
    unknown = [one for one in lifters if one.known != "enough"]
    if unknown:
        found.append((_("Not known yet"), unknown))
    return tuple(
        Shared(
            name,
            voice.words.ngettext("{number} lifter", "{number} lifters", len(same)).format(
                number=voice.show.number(len(same))
            ),
            tuple(Cell(one.name, href(one.href), more=_how_sure(voice, one)) for one in same),
        )
        for name, same in found
    )


def _how_sure(voice: Voice, one: Summary) -> str:
    """The chance of what comes first; without enough evidence, why there is none."""
    if one.known == "enough":
        return voice.show.in_ten(one.chance)
    return {
        "nothing": voice.words._("nothing written down"),
        "little": voice.words._("too early to say"),
    }[one.known]


def _table_section(voice: Voice, lifters: list[Summary]) -> Section | None:
    _ = voice.words._
    show = voice.show
    if not lifters:
        return None
    formula = next((one.scaled[0].formula for one in lifters if one.scaled), "")
    with_class = any(one.category for one in lifters)
    columns = [
        Column(_("Lifter"), sortable=True),
        *([Column(_("Class"), sortable=True)] if with_class else []),
        *(Column(voice.lift(lift), numeric=True, sortable=True) for lift in MAIN_LIFTS),
        *([Column(formula, numeric=True, sortable=True)] if formula else []),
        Column(_("Held back by"), sortable=True),
        Column(_("How sure"), numeric=True, sortable=True),
    ]
    rows = []
    for one in lifters:
        cells = [Cell(one.name, href(one.href), sort=one.name.casefold())]
        if with_class:
            cells.append(Cell(_category(voice, one), sort=f"{one.sex}{one.category_order:08.2f}"))
        for key in MAIN_LIFTS:
            lift = one.lift(key)
            cells.append(
                Cell("", sort="0")
                if lift is None or one.known == "nothing"
                else Cell(
                    show.load(lift.estimate_kg),
                    more=show.load_range(lift.low_kg, lift.high_kg),
                    sort=f"{lift.estimate_kg:.3f}",
                )
            )
        if formula:
            scaled = one.scaled[0] if one.scaled else None
            cells.append(
                Cell("", sort="0")
                if scaled is None or one.known == "nothing"
                else Cell(
                    show.points(scaled.score),
                    more=show.points_range(scaled.low, scaled.high),
                    sort=f"{scaled.score:.3f}",
                )
            )
        cells.append(_held_back_by(voice, one))
        chance = one.chance if one.known == "enough" else 0.0
        cells.append(Cell(_how_sure(voice, one), sort=f"{chance:.4f}"))
        rows.append(GridRow(tuple(cells), one.group or ""))
    lead = _("What each lifter is worth today, with the 90% interval below.")
    if formula:
        lead += " " + _("Points are the total scaled for body mass by {formula}.").format(
            formula=formula
        )
    grid = Grid("squad-table", _("The squad in numbers"), tuple(columns), tuple(rows))
    data = Links((Link(_("All numbers of this page as data (squad.json)"), SQUAD_DATA),))
    return Section("numbers", _("In numbers"), lead, (grid, data))


def _held_back_by(voice: Voice, one: Summary) -> Cell:
    if one.known != "enough":
        return Cell(voice.words._("Not known yet"))
    if one.confidence == "open":
        name = quality_name(voice.words, one.limiter)
        return Cell(
            voice.words._("Still open"), more=voice.words._("first: {name}").format(name=name)
        )
    return Cell(held_back_by(voice.words, one.limiter))
