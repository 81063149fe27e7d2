"""Report sections that set a lifter beside others: the field along the line, the marks."""

from __future__ import annotations

from profilegen.engine.profile import Profile
from profilegen.engine.replies import Company, Match
from profilegen.report.chart import Axis, IntervalRow, IntervalRows, Mark
from profilegen.report.page import Cell, Column, Drawn, Grid, GridRow, Section
from profilegen.report.words import Voice


def company_section(voice: Voice, profile: Profile) -> Section | None:
    """How many of the field could match each lift, from fast and light to slow and heavy."""
    _ = voice.words._
    company = profile.company
    if company is None:
        return None
    most = max(company.matches, key=lambda match: match.expected)
    fewest = min(company.matches, key=lambda match: match.expected)
    most_by, fewest_by = _of(voice, most, company), _of(voice, fewest, company)
    if most_by == fewest_by:
        summary = _("Every lift is matched by as many rivals: {by}.").format(by=most_by)
    else:
        summary = _(
            "Matched by most: {most} ({most_by}). By fewest: {fewest} ({fewest_by})."
        ).format(
            most=voice.lift_within(most.lift),
            most_by=most_by,
            fewest=voice.lift_within(fewest.lift),
            fewest_by=fewest_by,
        )
    chart = IntervalRows(
        "company-line",
        _("Rivals who could match each lift"),
        summary,
        Axis(
            _("rivals, of {all}").format(all=voice.show.number(company.rivals)),
            0.0,
            float(company.rivals),
        ),
        tuple(_row(voice, match, company, profile) for match in company.matches),
        start_label=_("fast and light"),
        end_label=_("slow and heavy"),
    )
    lead = "{} {}".format(
        _who(voice, company),
        _(
            "Of each rival only the snatch and the clean and jerk of a competition are known; what "
            "they could do in the other lifts is worked out from those two, as it is for this "
            "lifter. Far to the left, hardly anyone could match the lift."
        ),
    )
    return Section("company", _("In company, from fast to slow"), lead, (Drawn(chart),))


def _who(voice: Voice, company: Company) -> str:
    _ = voice.words._
    several = voice.words.ngettext
    rivals = voice.show.number(company.rivals)
    if company.scope == "class":
        return several(
            "{rivals} rival of the class {category}.",
            "{rivals} rivals of the class {category}.",
            company.rivals,
        ).format(rivals=rivals, category=company.category)
    if company.scope == "near":
        return several(
            "{rivals} rival within a tenth of the same body mass.",
            "{rivals} rivals within a tenth of the same body mass.",
            company.rivals,
        ).format(rivals=rivals)
    return several(
        "{rivals} rival, of any body mass.",
        "{rivals} rivals, of any body mass.",
        company.rivals,
    ).format(rivals=rivals)


def _of(voice: Voice, match: Match, company: Company) -> str:
    return voice.words._("{number} of {all}").format(
        number=voice.show.number(match.expected), all=voice.show.number(company.rivals)
    )


def _row(voice: Voice, match: Match, company: Company, profile: Profile) -> IntervalRow:
    show = voice.show
    estimate = profile.lifts.get(match.lift)
    mark: Mark = estimate.basis if estimate else "inferred"
    ends = show.range(show.number(match.low), show.number(match.high))
    return IntervalRow(
        voice.lift(match.lift),
        show.count_value(match.expected),
        min(float(match.low), show.count_value(match.expected)),
        max(float(match.high), show.count_value(match.expected)),
        mark,
        f"{_of(voice, match, company)} ({ends})",
        note=show.load(estimate.estimate_kg) if estimate else "",
    )


def marks_section(voice: Voice, profile: Profile) -> Section | None:
    """The club's records and standards for the lifter's class, and how far they are."""
    _ = voice.words._
    show = voice.show
    if not profile.marks:
        return None
    rows = tuple(
        GridRow(
            (
                Cell(
                    one.called,
                    more=_("any body mass")
                    if one.up_to_kg is None
                    else _("up to {mass}").format(mass=show.body_mass(one.up_to_kg)),
                ),
                Cell(voice.lift(one.lift)),
                Cell(show.load(one.mark_kg)),
                Cell(
                    show.load(one.mark_kg * one.share),
                    more=show.load_range(one.mark_kg * one.low, one.mark_kg * one.high),
                ),
                Cell(show.percent_interval(one.share, one.low, one.high)),
                Cell(show.in_ten(one.chance)),
            )
        )
        for one in profile.marks
    )
    return Section(
        "marks",
        _("Records and standards"),
        _(
            "What the club lists for this class. The chance is that the lift is worth that much "
            "today; on a given day, with a bar that has to be made, it is lower."
        ),
        (
            Grid(
                "marks-table",
                _("Records and standards of this class"),
                (
                    Column(_("Mark")),
                    Column(_("Lift")),
                    Column(_("Asks for"), numeric=True),
                    Column(_("Worth today"), numeric=True),
                    Column(_("Share of it"), numeric=True),
                    Column(_("Worth it today"), numeric=True),
                ),
                rows,
            ),
        ),
    )
