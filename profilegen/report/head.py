"""What every page carries: title, links, words of the furniture, glossary, footer."""

from __future__ import annotations

from functools import cache
from typing import Literal

from profilegen.history.records import Club
from profilegen.report.chart import ChartWords
from profilegen.report.glossary import glossary
from profilegen.report.language import Words
from profilegen.report.links import METHODS, SQUAD, href
from profilegen.report.page import Head, Labels, Link
from profilegen.report.words import Voice

Where = Literal["report", "squad", "methods"]


def page_head(
    voice: Voice,
    club: Club,
    where: Where,
    *,
    title: str,
    description: str,
    private: bool,
    root: str = "",
    more_links: tuple[Link, ...] = (),
) -> Head:
    """The head of one page. `root` is the way up to the site's root."""
    _ = voice.words._
    links = (
        Link(_("Squad"), href(SQUAD, root), here=where == "squad"),
        *more_links,
        Link(_("How it works"), href(METHODS, root), here=where == "methods"),
    )
    return Head(
        language=voice.words.language,
        title=f"{title} · {club.name}" if title != club.name else title,
        description=description,
        club=club.name,
        root=root,
        links=links,
        labels=page_labels(voice.words),
        chart_words=chart_words(voice.words),
        private=private,
        accent=club.accent,
        glossary=() if where == "methods" else glossary(voice.words),
        glossary_href=href(METHODS, root),
        footer=(
            _("Coaching information, not medical advice. Where it hurts, stop."),
            _("Intervals hold the truth nine times in ten. Usual values have sources."),
        ),
    )


@cache
def page_labels(words: Words) -> Labels:
    """The words of buttons, landmarks and marks."""
    _ = words._
    return Labels(
        skip=_("Skip to the content"),
        menu=_("Pages of this site"),
        contents=_("On this page"),
        theme=_("Light or dark"),
        private=_("Private copy"),
        private_why=_("Not for publication: personal data."),
        filter_group=_("Show group"),
        filter_class=_("Show class"),
        everyone=_("everyone"),
        filtered=_("{shown} of {all} shown"),
        nobody=_("Nobody is in this group and class: choose another, or everyone."),
        scroll_table=_("table, scrolls sideways"),
        video=_("video"),
        chapters=_("Parts of this report"),
        more_rows=_("More rows"),
    )


@cache
def chart_words(words: Words) -> ChartWords:
    """The words that charts add themselves."""
    _ = words._
    return ChartWords(
        tested=_("tested"),
        bounded=_("at least (only made sets)"),
        inferred=_("worked out"),
        interval=_("90% interval"),
        usual=_("usual range"),
        estimate=_("estimate"),
        what=_("what"),
        value=_("value"),
        date=_("day"),
        evidence=_("known how"),
        note=_("more"),
        explore=_("Explore"),
        numbers=_("Show the numbers"),
        hint=_("Left and right arrow keys step through the values."),
        months=tuple(words.short_month(month) for month in range(1, 13)),
        day_month=_("{day} {month}"),
        decimal_mark=words.decimal_mark,
    )
