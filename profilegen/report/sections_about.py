"""Report sections that close a page: scaled totals, cautions, reading help, diagnostics."""

from __future__ import annotations

from profilegen.engine.profile import TOTAL, Basis, Profile
from profilegen.norms.catalogue import Norms
from profilegen.report.cautions import cautions
from profilegen.report.page import (
    Bullets,
    Cell,
    Column,
    Grid,
    GridRow,
    Link,
    Links,
    Pair,
    Pairs,
    Section,
)
from profilegen.report.sources import source_text
from profilegen.report.words import Voice, basis_meaning

BASES: tuple[Basis, ...] = ("tested", "bounded", "inferred")


def scaled_section(voice: Voice, profile: Profile, norms: Norms) -> Section | None:
    """The total scaled for body mass, each formula by its name."""
    _ = voice.words._
    if not profile.scaled:
        return None
    rows = tuple(
        GridRow(
            (
                Cell(
                    one.formula,
                    more="" if one.in_range else _("body mass outside the range it was made for"),
                ),
                Cell(voice.show.points(one.score)),
                Cell(voice.show.points_range(one.low, one.high)),
                Cell(source_text(voice.words, norms, one.source)),
            )
        )
        for one in profile.scaled
    )
    return Section(
        "scaled",
        _("Across body masses"),
        _("The total in points, so that light and heavy lifters can be compared."),
        (
            Grid(
                "scaled-table",
                _("Total scaled for body mass"),
                (
                    Column(_("Formula")),
                    Column(_("Points"), numeric=True),
                    Column(_("90% interval"), numeric=True),
                    Column(_("Source")),
                ),
                rows,
            ),
        ),
    )


def cautions_section(voice: Voice) -> Section:
    """What to mind."""
    return Section(
        "cautions",
        voice.words._("What to mind"),
        "",
        (Bullets(cautions(voice), tone="caution"),),
    )


def reading_section(voice: Voice, profile: Profile) -> Section:
    """How to read this page."""
    _ = voice.words._
    testable = not voice.junior and not set(profile.lifts) <= {*profile.not_proposed, TOTAL}
    return Section(
        "reading",
        _("How to read this"),
        "",
        (
            Bullets(
                (
                    _(
                        "“7 chances in 10” means: of ten lifters with such numbers, about seven "
                        "are held back by this, and three by something else or by nothing."
                    ),
                    _(
                        "“84 kg (82 to 87)” means: 84 is the middle, and nine times in ten the "
                        "true value lies between 82 and 87."
                    ),
                    _(
                        "Numbers are rounded to half a kilo, so a total need not be exactly the "
                        "sum of its two lifts."
                    ),
                    *(basis_meaning(voice.words, basis) for basis in BASES),
                    _(
                        "“Usual” is what published numbers and common practice say about lifters "
                        "of the same level, not about the best in the world."
                    ),
                    _(
                        "A long interval is an invitation to test, not a mistake. One more honest "
                        "set often says more than ten easy ones."
                    )
                    if voice.age_told and testable
                    else _(
                        "A long interval is no mistake: it says that little is known yet. Sets of "
                        "several good reps will tell more in time."
                    )
                    if voice.junior
                    else _("A long interval is no mistake: it says that little is known."),
                )
            ),
        ),
    )


def diagnostics_section(voice: Voice, profile: Profile) -> Section:
    """How the computation went."""
    _ = voice.words._
    how = profile.diagnostics
    settled = _("yes") if how.converged else _("no: take the numbers with care")
    return Section(
        "diagnostics",
        _("How the computation went"),
        "",
        (
            Pairs(
                (
                    Pair(_("Rows written"), voice.show.number(how.rows_written)),
                    Pair(_("Rows that add something"), voice.show.number(how.rows_used)),
                    Pair(_("Rounds of computation"), voice.show.number(how.iterations)),
                    Pair(_("Settled"), settled),
                    Pair(
                        _("Largest change in the last round"),
                        _("less than {percent} of a lift").format(
                            percent=voice.show.fine_percent(how.largest_change)
                        ),
                    ),
                )
            ),
            Links((Link(_("All numbers of this page as data (profile.json)"), "profile.json"),)),
        ),
    )
