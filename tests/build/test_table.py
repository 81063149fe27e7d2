"""The squad's numbers as a table: those of squad.json, a row per lifter, with types."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from pyarrow import parquet
from typer.testing import CliRunner

from profilegen import cli
from profilegen.build import table
from profilegen.build.site import build_site
from tests.squads import TODAY, SmallSquad


def test_the_table_says_what_squad_json_says(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also when it is written in several goes."""
    monkeypatch.setattr(table, "ROWS_AT_ONCE", 2)
    build_site(squad.folder, tmp_path / "site", today=TODAY, parquet=True)
    rows = parquet.read_table(tmp_path / "site/squad.parquet").to_pylist()
    entries = json.loads((tmp_path / "site/squad.json").read_bytes())["athletes"]
    assert [row["id"] for row in rows] == ["ann", "bea", "cleo"]
    for row, entry in zip(rows, entries, strict=True):
        for name in ("name", "sex", "age", "body_mass_kg", "limiter", "chance", "report"):
            assert row[name] == entry[name]
        assert row["snatch_estimate_kg"] == entry["lifts"]["snatch"]["estimate_kg"]
        assert row["total_basis"] == entry["lifts"]["total"]["basis"]
        assert row["legs_score"] == entry["qualities"]["legs"]["score"]
        assert {row["points_formula"]: row["points"]}.items() <= entry["scaled"].items()


def test_it_comes_only_when_asked_for_and_goes_again(squad: SmallSquad, tmp_path: Path) -> None:
    site = tmp_path / "site"
    build_site(squad.folder, site, today=TODAY, parquet=True)
    build_site(squad.folder, site, today=TODAY)
    assert not (site / "squad.parquet").exists()


def test_without_the_extra_it_says_what_to_install(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    site = tmp_path / "site"
    arguments = ["build", str(squad.folder), "--parquet", "--out", str(site)]
    result = CliRunner().invoke(cli.app, arguments)
    assert result.exit_code == 2
    assert "pip install 'profilegen[table]'" in result.stderr
    assert not site.exists()
