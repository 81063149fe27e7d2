"""What the templates get is finished: both drawings, the plot, the legend, the table."""

from __future__ import annotations

import json
import re

import pytest

from profilegen.report.chart import ChartWords, Drawable
from profilegen.report.drawn import draw, draw_heat, plots_script, script_json
from profilegen.report.plot import plotly_spec
from tests.report.chart_samples import SAMPLES, hostile, qualities, strip


@pytest.mark.parametrize("chart", [*SAMPLES, *hostile()], ids=lambda c: c.id)
def test_a_spec_can_stand_in_a_script_element(chart: Drawable) -> None:
    """Nothing in it can end the element or open a comment, and it reads back the same."""
    item = draw(chart)
    assert not re.search(r"[<>&\u2028\u2029]", item.spec_json)
    assert json.loads(item.spec_json) == plotly_spec(chart)


def test_plots_can_stand_in_a_file_of_their_own() -> None:
    """Chart by chart the same as in the page, whatever a chart is called."""
    items = [draw(chart) for chart in hostile()]
    script = plots_script(items)
    assert script.startswith("window.chartSpecs={")
    specs = json.loads(script.removeprefix("window.chartSpecs=").rstrip(";\n"))
    assert specs == {item.chart_id: json.loads(item.spec_json) for item in items}


def test_numbers_that_are_not_numbers_never_reach_a_page() -> None:
    with pytest.raises(ValueError, match="JSON"):
        script_json({"x": float("nan")})


def test_a_chart_speaks_the_language_of_its_page() -> None:
    """Every word that renderers add themselves comes from the words they are given."""
    words = ChartWords(tested="getestet", usual="üblich", what="was", explore="Erkunden")
    item = draw(strip(), words=words)
    assert item.keys[0].label == "getestet"
    assert item.table.header[0] == "was"
    assert item.words.explore == "Erkunden"
    assert "getestet" in item.spec_json
    assert '"name":"tested"' not in item.spec_json


def test_heat_cells_get_a_shade_and_always_their_text() -> None:
    item = draw_heat(qualities())
    assert [(cell.step, cell.text) for cell in item.rows[0].cells] == [
        ("n3", "−1.9"),
        ("0", "+0.2"),
        ("p2", "+0.9"),
        ("n1", "−0.4"),
        ("0", "+0.1"),
    ]
