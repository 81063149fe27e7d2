"""The plotted charts: valid for plotly, private, themed, safe, small."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import plotly.graph_objects as go
import pytest

from profilegen.report.chart import ENGLISH, Drawable
from profilegen.report.drawing.keys import keys_of
from profilegen.report.plot import CONFIG, Spec, merged, plotly_spec, whole_spec
from profilegen.report.plotting.parts import COMMON_LAYOUT
from profilegen.report.svg import svg_of
from tests.report.chart_samples import HOSTILE, SAMPLES, hostile, ratios, short_trend

ASSETS = Path(__file__).parents[2] / "templates" / "assets"
TOKENS = set(re.findall(r"--([\w-]+):", (ASSETS / "tokens.css").read_text(encoding="utf-8")))

DAY = date(2026, 10, 12)


def whole(chart: Drawable) -> Spec:
    """What plotly is given for a wide figure."""
    return whole_spec(plotly_spec(chart))


every_chart = pytest.mark.parametrize("chart", [*SAMPLES, *hostile()], ids=lambda c: c.id)


def leaves(value: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every (key, plain value) of a spec; entries of a list carry the list's key."""
    if isinstance(value, dict):
        for name, entry in value.items():
            yield from leaves(entry, name)
    elif isinstance(value, list):
        for entry in value:
            yield from leaves(entry, key)
    else:
        yield key, value


def coloured(value: Any, key: str = "") -> Any:
    """The spec with a colour for every token, as charts.js fills them in."""
    if isinstance(value, dict):
        return {name: coloured(entry, name) for name, entry in value.items()}
    if isinstance(value, list):
        return [coloured(entry, key) for entry in value]
    is_token = key.endswith("color") and isinstance(value, str) and value.startswith("@")
    return "#123456" if is_token else value


@every_chart
def test_plotly_accepts_every_spec(chart: Drawable) -> None:
    """plotly's own validators take data and both layouts."""
    spec = coloured(whole(chart))
    go.Figure(data=spec["data"], layout=spec["layout"])
    go.Figure(data=spec["data"], layout=merged(spec["layout"], spec["narrow"]))


def test_plotly_would_refuse_a_misspelt_setting() -> None:
    """The test above can fail."""
    with pytest.raises(ValueError, match="nonsense"):
        go.Figure(layout={"xaxis": {"nonsense": 1}})


@every_chart
def test_a_page_leaves_out_what_charts_js_has(chart: Drawable) -> None:
    """What all charts share is not repeated, and a small chart has one layout, the narrow one."""
    layout = plotly_spec(chart)["layout"]
    assert not {name for name, value in layout.items() if COMMON_LAYOUT.get(name) == value}
    small, spec = plotly_spec(chart, small=True), plotly_spec(chart)
    assert small["layout"] == merged(spec["layout"], spec["narrow"])
    assert (small["data"], small["narrow"]) == (spec["data"], {})


def test_the_script_has_the_same_common_part_and_protection() -> None:
    """charts.js sets what all charts share, whatever a page says."""
    script = (ASSETS / "charts.js").read_text(encoding="utf-8")
    text = re.search(r"const COMMON = (\{.*?\n  \});", script, flags=re.DOTALL)
    assert text is not None
    assert json.loads(text.group(1)) == {"layout": COMMON_LAYOUT, "config": CONFIG}
    assert "config: COMMON.config" in script


@every_chart
def test_only_bars_and_points_are_needed(chart: Drawable) -> None:
    """So the basic bundle is enough."""
    assert {trace["type"] for trace in plotly_spec(chart)["data"]} <= {"scatter", "bar"}


@pytest.mark.parametrize(
    ("setting", "value"),
    [
        ("showSendToCloud", False),
        ("plotlyServerURL", ""),
        ("displaylogo", False),
        ("displayModeBar", False),
    ],
)
@every_chart
def test_no_chart_can_be_sent_to_anyones_cloud(
    chart: Drawable, setting: str, value: object
) -> None:
    """plotly.js offers a share button by default; each of these settings must be there."""
    assert whole(chart)["config"][setting] == value


@every_chart
def test_colours_are_tokens_of_the_theme(chart: Drawable) -> None:
    """No colour is written into a chart, or it would stay when the theme changes."""
    for key, value in leaves(whole(chart)):
        if key.endswith("color"):
            assert value == "rgba(0,0,0,0)" or value[1:] in TOKENS | {"chart-ground"}, value
        elif isinstance(value, str) and "text" not in key:
            assert not value.startswith("@")


@pytest.mark.parametrize("chart", hostile(), ids=lambda c: c.id)
def test_plotly_gets_no_markup_from_files(chart: Drawable) -> None:
    """plotly reads <b>, <a> and entities in text; only our own line breaks may reach it."""
    seen = False
    for key, value in leaves(whole(chart)):
        if isinstance(value, str) and key != "customdata":
            assert "<" not in value.replace("<br>", "")
            seen |= HOSTILE[1:8] in value
    assert seen


@every_chart
def test_a_spec_is_plain_json_without_long_fractions(chart: Drawable) -> None:
    spec = whole(chart)
    assert json.loads(json.dumps(spec, allow_nan=False)) == spec
    for _, value in leaves(spec):
        if isinstance(value, float):
            assert len(repr(value).lstrip("-").partition(".")[2]) <= 4, value
    assert json.dumps(spec) == json.dumps(whole(chart))


@every_chart
def test_every_legend_entry_shows_and_hides_something(chart: Drawable) -> None:
    groups = {trace.get("legendgroup") for trace in plotly_spec(chart)["data"]}
    for key in keys_of(chart, ENGLISH):
        assert not key.group or key.group in groups


@every_chart
def test_margins_of_both_layouts_leave_a_plotting_area(chart: Drawable) -> None:
    spec = whole(chart)
    for layout, units in ((spec["layout"], 720), (merged(spec["layout"], spec["narrow"]), 340)):
        margin = layout["margin"]
        assert min(margin.values()) >= 0
        assert units - margin["l"] - margin["r"] > units / 3


def test_a_single_day_and_an_empty_list_can_still_be_shown() -> None:
    """A newcomer's first evening: one day, no ratios yet."""
    trend = dataclasses.replace(
        short_trend(), days=(DAY,), mid=(60,), low=(50,), high=(70,), texts=("60 kg",), marks=()
    )
    for chart in (trend, dataclasses.replace(ratios(), rows=())):
        spec = coloured(whole(chart))
        go.Figure(data=spec["data"], layout=spec["layout"])
        for width in ("wide", "narrow"):
            ElementTree.fromstring(svg_of(chart, width=width))
