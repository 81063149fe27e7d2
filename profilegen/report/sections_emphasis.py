"""Report section on what would change the limiter: the trade's emphasis, not a programme."""

from __future__ import annotations

from collections.abc import Iterable

from profilegen.engine.profile import Profile
from profilegen.norms.catalogue import Norms
from profilegen.norms.emphasis import Advice, load_emphasis
from profilegen.report.page import Bullets, Cell, Column, Details, Grid, GridRow, Prose, Section
from profilegen.report.sources import source_text
from profilegen.report.words import Voice, quality_name


def emphasis_section(voice: Voice, profile: Profile, norms: Norms) -> Section | None:
    """What is usually emphasised for the limiter, how it would show, and what to mind.

    None for an even profile, and while the answer is open: then no emphasis follows from it.
    Where every lift of it is to be avoided, the section says so and when to see someone.
    """
    _ = voice.words._
    verdict = profile.verdict
    if verdict.limiter == "even" or verdict.confidence == "open":
        return None
    one = load_emphasis()[verdict.limiter].shown(
        junior=profile.athlete.junior, avoided=profile.not_proposed
    )
    blocks: list[Grid | Bullets | Details | Prose] = []
    if one.emphasis:
        blocks.append(
            Grid(
                "emphasis-table",
                _("What is usually emphasised"),
                (Column(_("Lifts")), Column(_("What for"))),
                tuple(
                    GridRow((Cell(_lifts(voice, advice)), Cell(_(advice.text))))
                    for advice in one.emphasis
                ),
            )
        )
    if one.shows:
        blocks.append(Prose((_("How it would show in the next testing week, if it works:"),)))
        blocks.append(
            Bullets(
                tuple(
                    _("{lifts}: {sign}").format(lifts=_lifts(voice, advice), sign=_(advice.text))
                    for advice in one.shows
                )
            )
        )
    mind = tuple(_(caution.text) for caution in (*one.cautions, *one.see))
    blocks.append(Bullets(mind, tone="caution"))
    sources = {advice.source for advice in (*one.emphasis, *one.shows)}
    sources |= {caution.source for caution in (*one.cautions, *one.see)}
    blocks.append(Details(_("Where this comes from"), (Bullets(_sources(voice, norms, sources)),)))
    lead = (
        _(
            "What the trade usually emphasises for {quality}: families of lifts and what they are "
            "for, not a programme. The coach decides."
        )
        if one.emphasis
        else _(
            "All that the trade usually emphasises for {quality} is on the list to avoid, or much "
            "alike, so nothing is named here."
        )
    ).format(quality=quality_name(voice.words, verdict.limiter))
    return Section("emphasis", _("What would change it"), lead, tuple(blocks))


def _lifts(voice: Voice, advice: Advice) -> str:
    first, *others = advice.lifts
    return voice.show.listed([voice.lift(first), *(voice.lift_within(one) for one in others)])


def _sources(voice: Voice, norms: Norms, sources: Iterable[str]) -> tuple[str, ...]:
    texts = {source_text(voice.words, norms, source) for source in sources}
    return tuple(voice.show.capital(text) for text in sorted(texts))
