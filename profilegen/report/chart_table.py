"""A chart as a table: every value in words, for keyboards, screen readers and doubters."""

from __future__ import annotations

from profilegen.report.chart import (
    ENGLISH,
    Chart,
    ChartWords,
    HeatTable,
    IntervalRows,
    Scatter,
    Table,
    Trend,
    Waterfall,
)
from profilegen.report.drawing.keys import mark_label, trend_kinds

ESTIMATES = 9
"""Most days of a trend that its table lists; the evidence is listed in full."""


def table_of(chart: Chart, *, words: ChartWords = ENGLISH) -> Table:
    """The chart's numbers as rows of text, with keys to sort by."""
    match chart:
        case IntervalRows():
            return interval_table(chart, words)
        case Waterfall():
            return Table(
                caption=chart.title,
                header=(words.what, words.value),
                rows=tuple((step.label, step.value_text) for step in chart.steps),
                numeric=(False, True),
                sort_keys=tuple((step.label, step.value) for step in chart.steps),
            )
        case Trend():
            return trend_table(chart, words)
        case HeatTable():
            return Table(
                caption=chart.title,
                header=(chart.row_title or words.what, *chart.columns),
                rows=tuple((row.label, *(cell.text for cell in row.cells)) for row in chart.rows),
                numeric=(False, *(True for _ in chart.columns)),
                sort_keys=tuple(
                    (row.label, *(cell.level for cell in row.cells)) for row in chart.rows
                ),
            )
        case Scatter():
            return Table(
                caption=chart.title,
                header=(words.what, words.value),
                rows=tuple((point.label, point.text) for point in chart.points),
                numeric=(False, False),
                sort_keys=tuple((point.label, point.y) for point in chart.points),
            )


def interval_table(chart: IntervalRows, words: ChartWords) -> Table:
    """One row per row; how it is known and the note only where any row has one."""
    with_notes = any(row.note for row in chart.rows)
    header = (words.what, words.value, words.evidence, *([words.note] if with_notes else []))
    return Table(
        caption=chart.title,
        header=header,
        rows=tuple(
            (
                row.label,
                row.value_text,
                mark_label(row.mark, words),
                *([row.note] if with_notes else []),
            )
            for row in chart.rows
        ),
        numeric=(False, True, False, *([False] if with_notes else [])),
        sort_keys=tuple(
            (row.label, row.value, row.mark, *([row.note] if with_notes else []))
            for row in chart.rows
        ),
    )


def trend_table(chart: Trend, words: ChartWords) -> Table:
    """The estimate on evenly spaced days and every piece of evidence, by date; the texts say
    the day."""
    last = len(chart.days) - 1
    count = min(ESTIMATES, len(chart.days))
    picks = sorted({round(i * last / max(1, count - 1)) for i in range(count)})
    label = chart.mid_label or words.estimate
    kinds = dict(trend_kinds(chart))
    entries = [(chart.days[i], 1, label, chart.texts[i]) for i in picks]
    entries += [(mark.on, 0, kinds[mark.kind], mark.text) for mark in chart.marks]
    entries.sort()
    return Table(
        caption=chart.title,
        header=(words.value, words.what),
        rows=tuple((text, what) for _, _, what, text in entries),
        numeric=(False, False),
        sort_keys=tuple((on.isoformat(), what) for on, _, what, _ in entries),
    )
