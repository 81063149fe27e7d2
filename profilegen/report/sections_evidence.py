"""Report sections about what the answer rests on: every row written, notes, assumptions."""

from __future__ import annotations

from profilegen.engine.profile import EvidenceReading, Profile
from profilegen.history.records import Athlete
from profilegen.report.assumption_words import assumption_sentence
from profilegen.report.chapters import ROWS
from profilegen.report.evidence_words import (
    place_name,
    taken_to_mean,
    unexpected,
    written_detail,
    written_set,
)
from profilegen.report.page import (
    Block,
    Bullets,
    Cell,
    Column,
    Details,
    Grid,
    GridRow,
    Notes,
    Prose,
    Section,
)
from profilegen.report.words import Voice

SHOWN_AT_ONCE = 12
"""Rows shown before the rest is one click away: about a testing week."""
ROWS_A_PAGE = 240
"""Most rows in one section; a long diary goes on in sections, and so pages, of their own."""


def evidence_sections(voice: Voice, profile: Profile, athlete: Athlete) -> tuple[Section, ...]:
    """Every row the coach wrote, newest first, and what it was taken to mean."""
    _ = voice.words._
    rows = sorted(profile.evidence, key=lambda row: (row.on, row.line), reverse=True)
    used = [row for row in rows if row.used or row.drew_line]
    idle = [row for row in rows if not (row.used or row.drew_line)]
    blocks: list[Block] = []
    if used:
        blocks.append(
            _evidence_grid(voice, athlete, "evidence-new", _("Latest rows"), used[:SHOWN_AT_ONCE])
        )
    older = used[SHOWN_AT_ONCE:ROWS_A_PAGE]
    if older:
        summary = voice.words.ngettext(
            "{number} older row", "{number} older rows", len(older)
        ).format(number=voice.show.number(len(older)))
        blocks.append(
            Details(
                summary,
                (_evidence_grid(voice, athlete, "evidence-old", _("Older rows"), older),),
            )
        )
    if idle:
        summary = voice.words.ngettext(
            "{number} row that adds nothing to heavier ones nearby",
            "{number} rows that add nothing to heavier ones nearby",
            len(idle),
        ).format(number=voice.show.number(len(idle)))
        blocks.append(Details(summary, (_idle_grid(voice, athlete, idle),)))
    lead = _("Every row as it was written down, and what it was taken to mean.")
    if not rows:
        lead = _("Nothing has been written down yet.")
    first = Section("evidence", _("What this rests on"), lead, tuple(blocks))
    oldest = [used[i : i + ROWS_A_PAGE] for i in range(ROWS_A_PAGE, len(used), ROWS_A_PAGE)]
    return (
        first,
        *(_rows_section(voice, athlete, i, rows) for i, rows in enumerate(oldest, start=2)),
    )


def _rows_section(
    voice: Voice, athlete: Athlete, number: int, rows: list[EvidenceReading]
) -> Section:
    """The oldest rows of a long diary."""
    _ = voice.words._
    title = _("Rows from {first} to {last}").format(
        first=voice.show.short_day(rows[-1].on), last=voice.show.short_day(rows[0].on)
    )
    grid = _evidence_grid(voice, athlete, f"evidence-{number}", title, rows)
    return Section(f"{ROWS}{number}", title, "", (grid,))


def _evidence_grid(
    voice: Voice, athlete: Athlete, id: str, caption: str, rows: list[EvidenceReading]
) -> Grid:
    _ = voice.words._
    return Grid(
        id,
        caption,
        (
            Column(_("Day")),
            Column(_("Lift")),
            Column(_("Written down")),
            Column(_("Taken to mean")),
            Column(_("Line in the file"), numeric=True),
        ),
        tuple(GridRow(_cells(voice, athlete, row)) for row in rows),
    )


def _cells(voice: Voice, athlete: Athlete, row: EvidenceReading) -> tuple[Cell, ...]:
    _ = voice.words._
    meaning = taken_to_mean(voice, row)
    odd = _("unexpected, worth a second look") if unexpected(row) else ""
    detail = written_detail(voice, row)
    written = _("{written}, {detail}").format(
        written=written_set(voice, row, athlete.units), detail=detail
    )
    return (
        Cell(voice.show.short_around(row.on, row.told), more=place_name(voice.words, row.at)),
        Cell(voice.lift(row.lift)),
        Cell(written, href=row.video or "", more=row.note or "", outside=True),
        Cell(meaning, more=odd),
        Cell(voice.show.number(row.line) if row.line else ""),
    )


def _idle_grid(voice: Voice, athlete: Athlete, rows: list[EvidenceReading]) -> Grid:
    """Rows that say nothing new, a day and lift at a time: a diary has hundreds."""
    _ = voice.words._
    days: dict[tuple[object, str], list[EvidenceReading]] = {}
    for row in rows:
        days.setdefault((row.on, row.lift), []).append(row)
    return Grid(
        "evidence-idle",
        _("Written down, and said by heavier sets already"),
        (Column(_("Day")), Column(_("Lift")), Column(_("Written down")), Column(_("Lines"))),
        tuple(
            GridRow(
                (
                    Cell(voice.show.short_around(same[0].on, same[0].told)),
                    Cell(voice.lift(same[0].lift)),
                    Cell(", ".join(_short(voice, athlete, row) for row in same)),
                    Cell(", ".join(voice.show.number(row.line) for row in same if row.line)),
                )
            )
            for same in (sorted(rows, key=lambda row: row.line) for rows in days.values())
        ),
    )


def _short(voice: Voice, athlete: Athlete, row: EvidenceReading) -> str:
    text = written_set(voice, row, athlete.units)
    return f"{text} ({written_detail(voice, row)})" if row.missed else text


def notes_section(voice: Voice, athlete: Athlete) -> Section | None:
    """What the coach wrote by hand."""
    if not athlete.notes.strip():
        return None
    return Section("notes", voice.words._("Coach’s notes"), "", (Notes(athlete.notes),))


_FIRST = {"left_out", "typing_mistake", "beyond_records", "body_mass_jump", "not_converged"}
"""Warnings after which the rest of a report is not worth reading until somebody has looked."""


def check_first_section(voice: Voice, profile: Profile) -> Section | None:
    """Slips of the pen and the like, before anything that they may have bent."""
    found = [one for one in profile.warnings if one.code in _FIRST]
    if not found:
        return None
    texts = tuple(dict.fromkeys(assumption_sentence(voice, one) for one in found))
    return Section(
        "check-first", voice.words._("To check first"), "", (Bullets(texts, tone="caution"),)
    )


def assumptions_section(voice: Voice, profile: Profile) -> Section:
    """What was taken for granted, and what to check."""
    _ = voice.words._
    blocks: list[Block] = []
    warnings = tuple(dict.fromkeys(assumption_sentence(voice, one) for one in profile.warnings))
    assumptions = tuple(
        dict.fromkeys(assumption_sentence(voice, one) for one in profile.assumptions)
    )
    if warnings:
        blocks.append(Bullets(warnings, tone="caution"))
    if assumptions:
        blocks.append(Bullets(assumptions))
    if not blocks:
        blocks.append(Prose((_("Nothing beyond what the methods page says for everyone."),)))
    title = _("To check, and taken for granted") if warnings else _("Taken for granted")
    return Section("assumptions", title, "", tuple(blocks))
