"""What is put into a file reads back as what it was, to the strictest and the laxest reader."""

from __future__ import annotations

import yaml
from hypothesis import given
from hypothesis import strategies as st

from profilegen.history.yaml_tree import read_tree
from profilegen.intake import as_yaml

ODD = ["Ann ", "no", "On", "NULL", "y", "~", "", " ", "1:30", "0x1F", "a: b", "a #b", "- a", "😀"]
TEXT = st.text(st.characters(exclude_categories=["Cs"])) | st.sampled_from(ODD)


@given(text=TEXT)
def test_text_stays_text_everywhere(text: str) -> None:
    """PyYAML follows YAML 1.1, our own reader tells where readers differ: both see the text."""
    places = {
        "name": f"name: {as_yaml.name(text)}\n",
        "a": f"a: {as_yaml.scalar(text)}\n",
        "b": as_yaml.flow({"b": text}),
        "c": f"c: {as_yaml.quoted(text)}\n",
        text: f"{as_yaml.quoted(text)}: {as_yaml.scalar(text)}\n",
    }
    for key, written in places.items():
        assert yaml.safe_load(written) == {key: text}
        document = read_tree(written, "")
        assert (document.value, document.problems) == ({key: text}, ())
        assert type(document.value[key]) is str


@given(number=st.integers(0, 60_000))
def test_loads_to_a_hundredth_stay_as_they_are(number: int) -> None:
    assert yaml.safe_load(as_yaml.scalar(number / 100)) == number / 100
