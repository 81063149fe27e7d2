"""The methods page: how the answer comes about, in words and formulas, for a curious coach."""

from __future__ import annotations

from profilegen.engine.profile import CLEAN_AND_JERK, TOTAL
from profilegen.engine.verdict import LEAST_LIFTS
from profilegen.history.records import Club
from profilegen.norms.catalogue import QUALITIES, Norms
from profilegen.report.cautions import cautions
from profilegen.report.glossary import glossary
from profilegen.report.head import page_head
from profilegen.report.methods_tables import numbers_section
from profilegen.report.page import (
    Bullets,
    Cell,
    Column,
    Formula,
    Grid,
    GridRow,
    MethodsPage,
    Pair,
    Pairs,
    Prose,
    QualityCard,
    Section,
)
from profilegen.report.quality_words import quality_words, what_to_look_at
from profilegen.report.words import Voice, quality_heading, voice_for


def methods_page(norms: Norms, club: Club, *, private: bool = True) -> MethodsPage:
    """How it works, every number behind it, and what it does not know."""
    voice = voice_for(club, norms)
    _ = voice.words._
    title = _("How it works")
    lead = _(
        "A coach’s notes are scattered: a single here, a triple there, a miss, something someone "
        "said. This page tells how they become one answer that knows how sure it is."
    )
    return MethodsPage(
        head=page_head(voice, club, "methods", title=title, description=lead, private=private),
        title=title,
        lead=lead,
        sections=(
            _idea(voice),
            _qualities(voice),
            _model(voice),
            _evidence(voice),
            _answer(voice, norms),
            _planning(voice),
            _scaling(voice),
            numbers_section(voice, norms, club),
            _unknown(voice),
            _glossary(voice),
            Section("cautions", _("What to mind"), "", (Bullets(cautions(voice), "caution"),)),
        ),
    )


def _idea(voice: Voice) -> Section:
    _ = voice.words._
    return Section(
        "idea",
        _("The idea in a minute"),
        "",
        (
            Prose(
                (
                    _(
                        "Lifts go together. Who squats more than usual for a given clean probably "
                        "has legs to spare; who power cleans nearly as much as the clean loses "
                        "kilos on the way under the bar. Coaches read such patterns by eye."
                    ),
                    _(
                        "The program does the same with numbers. It starts from what is usual, "
                        "with a wide margin, and lets every row in the file move the answer as far "
                        "as that row is worth: a lift to the limit a lot, an easy warm-up hardly."
                    ),
                    _(
                        "What comes out is never one number but a range, and never just a name for "
                        "the weak point but a chance that the name is right."
                    ),
                )
            ),
        ),
    )


def _qualities(voice: Voice) -> Section:
    _ = voice.words._
    cards = []
    for quality in QUALITIES:
        texts = quality_words(voice.words, quality)
        cards.append(
            QualityCard(
                quality_heading(voice.words, quality),
                (
                    Pair(_("What it is"), texts.is_about),
                    Pair(_("How a lack of it shows"), texts.shows),
                    Pair(_("What to look at in training"), what_to_look_at(voice, quality, ())),
                ),
            )
        )
    return Section(
        "qualities",
        _("Six qualities"),
        _("Every lift draws on some of them, each in its own mix. Common practice, no source."),
        tuple(cards),
    )


def _model(voice: Voice) -> Section:
    _ = voice.words._
    return Section(
        "model",
        _("What a lift is made of"),
        _(
            "Capacity is what a lifter could make on that day. It is counted in logarithms, so "
            "that differences are shares: 0.02 is about 2%."
        ),
        (
            Formula(
                "capacity",
                _(
                    "The log capacity c of lift i on day t is the lifter’s level, plus the lift’s "
                    "usual share ρ of the clean, plus what each of the six qualities q adds to "
                    "this lift (λ says how much), plus ε, what is peculiar to this lifter in "
                    "this lift."
                ),
                {"level": _("level")},
            ),
            Prose(
                (
                    _(
                        "The level starts from body mass, sex and age with a wide margin. "
                        "Qualities start at usual: 0, with a standard deviation of 1."
                    ),
                    _(
                        "Level and qualities change with time: what was true a year ago still "
                        "counts, but less. On top comes the form of the day, about 2%, shared by "
                        "everything lifted on that day. Where a lifter's rows change by far more "
                        "than most lifters' do (a first year, a return from injury), older ones "
                        "count for less."
                    ),
                )
            ),
            Formula(
                "weaker",
                _(
                    "The clean and jerk is no lift of its own: it is the smaller of what can be "
                    "cleaned and what can be jerked."
                ),
                {
                    "clean_and_jerk": voice.lift_within(CLEAN_AND_JERK),
                    "clean": voice.lift_within("clean"),
                    "jerk": voice.lift_within("jerk"),
                },
            ),
            Prose(
                (
                    _(
                        "So a jerk missed after a clean says two things: the clean is at least "
                        "that good, the jerk may not be."
                    ),
                )
            ),
        ),
    )


def _evidence(voice: Voice) -> Section:
    _ = voice.words._
    rows = (
        (_("A made single"), _("At least this much.")),
        (_("A single with nothing left (effort: max)"), _("About this much.")),
        (
            _("Several reps, with or without a reserve"),
            _(
                "About as much as the rep chart says; the more reps, the wider the margin. Without "
                "a word about the reserve, at least that. In the quick lifts more than three reps "
                "only say “at least”."
            ),
        ),
        (
            _("Judged by eye (easy, steady, grind), or the coach’s own share"),
            _("About that share of the capacity, with a wide margin."),
        ),
        (_("Bar speed"), _("What the line of load and speed says, where a usable one exists.")),
        (
            _("A miss"),
            _(
                "Probably too heavy; but some misses are slips, more in the snatch than in the "
                "squat, so one miss moves little."
            ),
        ),
        (
            _("A best that was told, seen or is on record"),
            _("About that much at about that time, the wider the vaguer."),
        ),
        (
            _("Made within three days before a meet, not called maximal"),
            _("About 90% of what was there."),
        ),
        (
            _("The heaviest single of a meet or a testing day, when nothing tells how hard it was"),
            _("Besides: near the limit, for such loads are chosen to be."),
        ),
        (
            _("Half a year of training of which nothing tells how hard it was"),
            _(
                "Its heaviest load in each lift: besides, some nine tenths of what was there, "
                "with a wide margin."
            ),
        ),
    )
    return Section(
        "rows",
        _("What a row is worth"),
        "",
        (
            Grid(
                "rows-table",
                _("What the coach writes and what it says"),
                (Column(_("Written down")), Column(_("Taken to mean"))),
                tuple(GridRow((Cell(written), Cell(meaning))) for written, meaning in rows),
            ),
            Formula(
                "miss",
                _(
                    "The chance of a miss with load x: β for slips that are not about strength, "
                    "and otherwise a smooth step from “surely made” to “surely too heavy” around "
                    "the capacity c. Φ is the normal distribution, s how sharp the step is."
                ),
                {"miss": _("miss")},
            ),
            Prose(
                (
                    _(
                        "All rows are weighed together by expectation propagation on a Gaussian "
                        "process (Minka 2001; Rasmussen and Williams 2006, chapter 3.6). Rows that "
                        "say nothing beyond the others are set aside first, and so are slips of "
                        "the pen: rows that all others together make less likely than a load "
                        "picked at random. The report names each."
                    ),
                    _(
                        "Most lifters lie near the usual in most qualities, and some lie far off "
                        "in one. Which qualities are far off, whether the clean or the jerk is "
                        "the smaller, and whether the most doubtful miss was a slip, is gone "
                        "through case by case, and every case counts as much as the rows speak "
                        "for it. What this leaves out where several rows bear on nearly the same "
                        "thing is made good at the end (Opper, Paquet and Winther 2013)."
                    ),
                )
            ),
        ),
    )


def _answer(voice: Voice, norms: Norms) -> Section:
    _ = voice.words._
    return Section(
        "answer",
        _("From there to the verdict"),
        "",
        (
            Prose(
                (
                    _(
                        "From everything that fits the rows, a few thousand possible lifters are "
                        "drawn, always the same ones for the same file. Each of them has definite "
                        "lifts and qualities."
                    ),
                )
            ),
            Formula(
                "kilos",
                _(
                    "The kilos behind a quality k: how much the total T would grow if that quality "
                    "were raised to the mean of the other five. If it is higher already, nothing."
                ),
                {"kilos": _("kilos"), "others": _("others")},
            ),
            Prose(
                (
                    _(
                        "In each possible lifter the quality with the most kilos limits, if they "
                        "are more than 1.5% of the total; otherwise the profile counts as even. "
                        "“7 chances in 10” means that this was so in seven of ten of them."
                    ),
                    _(
                        "“Without the front squat it would be …” is the same count with that "
                        "lift’s rows left out."
                    ),
                    _(
                        "A verdict needs evidence. Without any, six in ten would count as even, "
                        "because most lifters are. So at least {lifts} different lifts need a row "
                        "of the last {days} days that says about how much they are, and an even "
                        "profile is only called one when its chance has risen above what it is "
                        "of anyone."
                    ).format(
                        lifts=voice.show.number(LEAST_LIFTS),
                        days=voice.show.number(norms.constant("recent_days")),
                    ),
                )
            ),
        ),
    )


def _planning(voice: Voice) -> Section:
    _ = voice.words._
    return Section(
        "planning",
        _("From the verdict to a plan"),
        "",
        (
            Bullets(
                (
                    _(
                        "What to test next: for every lift, how much surer the verdict would be on "
                        "average after one test of it, counted over the possible lifters, against "
                        "what the test takes out of the lifter."
                    ),
                    _(
                        "Attempts at a meet: the chance of each load counts what is known of the "
                        "lift, the form of the day, slips, and how this lifter does on the "
                        "platform. All ways through six attempts under the rules are compared; "
                        "each attempt depends on how the ones before went. Openers lie no higher "
                        "than what was made of late, and steps are no larger than usual."
                    ),
                    _(
                        "What if: a lift held at another value moves the others as far as they go "
                        "together; a quality moved changes each lift by its weight."
                    ),
                    _(
                        "A lift to avoid is proposed nowhere, nor is what is much alike: the list "
                        "need not say which part of the body minds."
                    ),
                )
            ),
        ),
    )


def _scaling(voice: Voice) -> Section:
    _ = voice.words._
    words = {"points": _("points"), "total": voice.lift_within(TOTAL)}
    return Section(
        "scaling",
        _("Totals across body masses"),
        "",
        (
            Formula(
                "sinclair",
                _(
                    "The Sinclair total: the total times a factor that depends on the body mass m. "
                    "A and b are published for each Olympic cycle; from b on the factor is 1."
                ),
                words,
            ),
            Formula(
                "huebner",
                _(
                    "The scaling of Huebner et al. (2023), with B as the body mass in units of "
                    "100 kg; the constants n, a, d and e differ for women and men."
                ),
                words,
            ),
        ),
    )


def _unknown(voice: Voice) -> Section:
    _ = voice.words._
    return Section(
        "unknown",
        _("What it does not know"),
        "",
        (
            Bullets(
                (
                    _("Why a quality is low: training, mobility, an old injury, or lack of sleep."),
                    _("Technique it cannot see. It reads loads, not videos."),
                    _(
                        "Whether a lift was made by the book, if the coach does not say so: depth, "
                        "press-outs, straps."
                    ),
                    _(
                        "Lifters far from those who were measured: most published numbers come "
                        "from competitors between 15 and 35."
                    ),
                    _(
                        "Much of what “usual” means for pulls, presses and squats: those rest on "
                        "common practice and have wide margins."
                    ),
                    _("The future. A profile is about its day; plans are made by people."),
                )
            ),
        ),
    )


def _glossary(voice: Voice) -> Section:
    _ = voice.words._
    return Section(
        "glossary",
        _("Words used here"),
        "",
        (
            Pairs(
                tuple(
                    Pair(voice.show.capital(term.name), term.meaning, f"term-{term.id}")
                    for term in glossary(voice.words)
                )
            ),
        ),
    )
