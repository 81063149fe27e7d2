"""Every number the program starts from, with its source, as tables for the methods page."""

from __future__ import annotations

from collections.abc import Sequence

from profilegen.engine.standards import SINCLAIR_CYCLES
from profilegen.history.records import Club
from profilegen.norms.catalogue import QUALITIES, Figure, Norms, Quality
from profilegen.report.page import Cell, Column, Details, Grid, GridRow, Prose, Section
from profilegen.report.sources import source_text
from profilegen.report.words import Voice, quality_label, quality_name, ratio_names


def numbers_section(voice: Voice, norms: Norms, club: Club) -> Section:
    """All norms; each table one click away."""
    _ = voice.words._
    return Section(
        "numbers",
        _("Every number it starts from"),
        _(
            "Each has a source. “Common practice, no source” marks what the trade says and nobody "
            "measured in a form that could be used; such numbers were chosen so that together "
            "they agree with the published ones."
        ),
        (
            Details(_("The lifts"), (_lifts_grid(voice, norms, club),)),
            Details(_("How a quality moves a lift"), (_loadings_grid(voice, norms),)),
            Details(_("Usual ratios"), (_ratios_grid(voice, norms),)),
            Details(_("Reps and maximum"), (_reps_grid(voice, norms),)),
            Details(_("Usual gain with age"), (_gain_grid(voice, norms),)),
            Details(_("Bar speed"), _speed_blocks(voice, norms)),
            Details(_("Constants of the model"), (_constants_grid(voice, norms),)),
            Details(_("Formulas for body mass"), _standards_blocks(voice)),
            Details(_("Sources"), (_sources_grid(voice, norms),)),
        ),
    )


def _from(voice: Voice, norms: Norms, figure: Figure) -> Cell:
    return Cell(source_text(voice.words, norms, figure.source), more=_note(voice, figure.note))


def _note(voice: Voice, note: str) -> str:
    """A remark of the norms; the empty text is no message but the head of a catalog."""
    return voice.words._(note) if note else ""


def _lifts_grid(voice: Voice, norms: Norms, club: Club) -> Grid:
    _ = voice.words._
    show = voice.show
    rows = []
    own = {one.id: one for one in club.own_lifts}
    for lift in norms.lifts.values():
        more = ""
        if lift.id in own:
            more = _("the club’s own, after the {lift}").format(
                lift=voice.lift_within(own[lift.id].parent)
            )
        rows.append(
            GridRow(
                (
                    Cell(voice.lift(lift.id), more=more),
                    Cell(show.percent(lift.share.value)),
                    Cell(show.small_percent(lift.own_sd.value)),
                    Cell(show.percent(lift.fluke_rate.value)),
                    Cell(source_text(voice.words, norms, lift.share.source))
                    if lift.id in own
                    else _from(voice, norms, lift.share),
                )
            )
        )
    return Grid(
        "norm-lifts",
        _("The lifts, from fast to slow"),
        (
            Column(_("Lift")),
            Column(_("Share of the clean"), numeric=True),
            Column(_("Own spread"), numeric=True),
            Column(_("Misses that are slips"), numeric=True),
            Column(_("Source of the share")),
        ),
        tuple(rows),
    )


def _loadings_grid(voice: Voice, norms: Norms) -> Grid:
    _ = voice.words._
    rows = []
    for lift in norms.lifts.values():
        cells = [Cell(voice.lift(lift.id))]
        for quality in QUALITIES:
            figure = lift.loadings.get(quality)
            cells.append(Cell("" if figure is None else voice.show.small_percent(figure.value)))
        sources = {figure.source for figure in lift.loadings.values()}
        cells.append(
            Cell("; ".join(source_text(voice.words, norms, key) for key in sorted(sources)))
        )
        rows.append(GridRow(tuple(cells)))
    return Grid(
        "norm-loadings",
        _("How far one standard deviation of a quality moves each lift"),
        (
            Column(_("Lift")),
            *(Column(quality_label(voice.words, quality), numeric=True) for quality in QUALITIES),
            Column(_("Source")),
        ),
        tuple(rows),
    )


def _ratios_grid(voice: Voice, norms: Norms) -> Grid:
    _ = voice.words._
    return Grid(
        "norm-ratios",
        _("Usual ratios"),
        (
            Column(_("Ratio")),
            Column(_("Usual"), numeric=True),
            Column(_("Low usually means")),
            Column(_("High usually means")),
            Column(_("Source")),
        ),
        tuple(
            GridRow(
                (
                    Cell(ratio_names(voice, one.numerator, one.denominator)),
                    Cell(voice.show.usual_range(one.usual_low, one.usual_high)),
                    Cell(_(one.low_means), more=_may_be_why(voice, one.low_points)),
                    Cell(_(one.high_means), more=_may_be_why(voice, one.high_points)),
                    Cell(source_text(voice.words, norms, one.source), more=_note(voice, one.note)),
                )
            )
            for one in norms.usual_ratios
        ),
    )


def _may_be_why(voice: Voice, qualities: Sequence[Quality]) -> str:
    return voice.show.listed([quality_name(voice.words, one) for one in qualities])


def _reps_grid(voice: Voice, norms: Norms) -> Grid:
    _ = voice.words._
    return Grid(
        "norm-reps",
        _("Share of a maximum by reps to the limit"),
        (Column(_("Reps")), Column(_("Share"), numeric=True), Column(_("Source"))),
        tuple(
            GridRow(
                (
                    Cell(voice.show.number(reps)),
                    Cell(voice.show.percent(figure.value)),
                    _from(voice, norms, figure),
                )
            )
            for reps, figure in norms.rep_chart.items()
        ),
    )


def _gain_grid(voice: Voice, norms: Norms) -> Grid:
    _ = voice.words._
    by_sex = {sex: dict(rows) for sex, rows in norms.yearly_gain.items()}
    ages = sorted({age for rows in by_sex.values() for age in rows})

    def gain(sex: str, age: float) -> Cell:
        value = by_sex.get(sex, {}).get(age)
        return Cell("" if value is None else voice.show.signed_small_percent(value))

    return Grid(
        "norm-gain",
        _("Usual change of the total over the year in which an age is reached"),
        (
            Column(_("Age")),
            Column(_("Women"), numeric=True),
            Column(_("Men"), numeric=True),
            Column(_("Source")),
        ),
        tuple(
            GridRow(
                (
                    Cell(voice.show.number(age, 1)),
                    gain("F", age),
                    gain("M", age),
                    Cell(
                        source_text(voice.words, norms, "iwf_results_db")
                        if age < 35
                        else source_text(voice.words, norms, "huebner2019masters")
                    ),
                )
            )
            for age in ages
        ),
    )


def _speed_blocks(voice: Voice, norms: Norms) -> tuple[Prose | Grid, ...]:
    _ = voice.words._
    rows = tuple(
        GridRow(
            (
                Cell(_readable(voice, key)),
                Cell(_readable(voice, name)),
                Cell(voice.show.number(figure.value, 3)),
                _from(voice, norms, figure),
            )
        )
        for key, relation in norms.speed.items()
        for name, figure in relation.items()
    )
    return (
        Prose(
            (
                _(
                    "Only where a usable line of load and speed was published is a speed read as "
                    "one. Elsewhere a set with a speed counts as a plain made set."
                ),
            )
        ),
        Grid(
            "norm-speed",
            _("Load and speed"),
            (
                Column(_("Lift family")),
                Column(_("Number")),
                Column(_("Value"), numeric=True),
                Column(_("Source")),
            ),
            rows,
        ),
    )


def _constants_grid(voice: Voice, norms: Norms) -> Grid:
    _ = voice.words._
    return Grid(
        "norm-constants",
        _("Constants; spreads are in natural-log units, so 0.02 is about 2%"),
        (Column(_("Constant")), Column(_("Value"), numeric=True), Column(_("Source"))),
        tuple(
            GridRow(
                (
                    Cell(_readable(voice, name)),
                    Cell(voice.show.number(figure.value, 4)),
                    _from(voice, norms, figure),
                )
            )
            for name, figure in norms.constants.items()
        ),
    )


def _standards_blocks(voice: Voice) -> tuple[Prose | Grid, ...]:
    _ = voice.words._
    status = {"read": _("read in a source"), "memory": _("from memory, unchecked")}
    rows = tuple(
        GridRow(
            (
                Cell(_("Sinclair {cycle}").format(cycle=cycle)),
                Cell(voice.show.number(one.a["F"], 9)),
                Cell(voice.show.number(one.b["F"], 3)),
                Cell(voice.show.number(one.a["M"], 9)),
                Cell(voice.show.number(one.b["M"], 3)),
                Cell(status[one.status]),
            )
        )
        for cycle, one in SINCLAIR_CYCLES.items()
    )
    return (
        Grid(
            "norm-sinclair",
            _("Sinclair constants by Olympic cycle"),
            (
                Column(_("Cycle")),
                Column(_("Women: A"), numeric=True),
                Column(_("Women: b"), numeric=True),
                Column(_("Men: A"), numeric=True),
                Column(_("Men: b"), numeric=True),
                Column(_("Status")),
            ),
            rows,
        ),
        Prose(
            (
                _(
                    "The scaling of Huebner et al. (2023) was read in its form; its constants are "
                    "from memory. It was fitted to seniors of about 50 kg body mass and more (men) "
                    "and 41 kg and more (women)."
                ),
            )
        ),
    )


def _sources_grid(voice: Voice, norms: Norms) -> Grid:
    _ = voice.words._
    return Grid(
        "norm-sources",
        _("Sources, and how far each was read"),
        (
            Column(_("Who")),
            Column(_("Year"), numeric=True),
            Column(_("Title and place")),
            Column(_("How it was read")),
        ),
        tuple(
            GridRow(
                (
                    Cell(_(source.authors), more=source.key),
                    Cell(_(source.year) if source.year else ""),
                    Cell(source.title, more=source.venue, language="en"),
                    Cell(_(source.status)),
                )
            )
            for source in norms.sources.values()
        ),
    )


def _readable(voice: Voice, name: str) -> str:
    return voice.words._(name.replace("_", " "))
