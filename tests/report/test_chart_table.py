"""A chart's table says everything that the picture says."""

from __future__ import annotations

import pytest

from profilegen.report.chart import Chart
from profilegen.report.chart_table import ESTIMATES, table_of
from tests.report.chart_samples import SAMPLES, hostile, kilos, qualities, ratios, strip, trend


@pytest.mark.parametrize("chart", [*SAMPLES, *hostile(), qualities()], ids=lambda c: c.id)
def test_every_table_is_rectangular(chart: Chart) -> None:
    table = table_of(chart)
    assert table.caption == chart.title
    assert len(table.sort_keys) == len(table.rows) > 0
    for row in (table.numeric, *table.rows, *table.sort_keys):
        assert len(row) == len(table.header)


def test_rows_keep_their_order_value_and_how_it_is_known() -> None:
    table = table_of(strip())
    assert table.rows[3] == ("Power clean", "91 kg (88–94)", "at least (only made lifts)")
    assert [row[0] for row in table.rows] == [row.label for row in strip().rows]


def test_notes_get_a_column_only_where_there_are_any() -> None:
    assert table_of(ratios()).header == ("what", "value", "evidence", "note")
    assert table_of(ratios()).rows[1][3] == "usual 1.09–1.18"
    assert len(table_of(strip()).header) == 3


def test_steps_are_listed_with_their_texts() -> None:
    assert ("Legs", "+9.5 kg") in table_of(kilos()).rows


def test_a_trend_lists_all_evidence_and_a_few_estimates_by_date() -> None:
    chart = trend()
    rows, keys = table_of(chart).rows, table_of(chart).sort_keys
    evidence = [row for row in rows if row[1] != "estimate"]
    estimates = [row for row in rows if row[1] == "estimate"]
    assert len(evidence) == len(chart.marks)
    assert {row[0] for row in evidence} == {mark.text for mark in chart.marks}
    assert len(estimates) == ESTIMATES
    assert estimates[0][0] == chart.texts[0]
    assert estimates[-1][0] == chart.texts[-1]
    assert [key[0] for key in keys] == sorted(key[0] for key in keys)
