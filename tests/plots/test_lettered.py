"""The strip of sheets side by side: every letter stands on it once and none hides another."""

import re
from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from clubsetup.plots.bands import Band
from clubsetup.plots.lettered import Lettered, lettered_strip

LETTERS = "ABCDEFGHIJKL"
values = st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=12)


def placed(svg: str) -> list[tuple[str, float, float, str]]:
    """(letters, x, y, anchor) of each text."""
    texts = re.findall(r"<text[^>]*>.*?</text>", svg)
    found = [ET.fromstring(each) for each in texts]
    return [
        (t.text or "", float(t.get("x", 0)), float(t.get("y", 0)), t.get("text-anchor", ""))
        for t in found
    ]


@given(values)
def test_every_letter_stands_once_and_hides_no_other(numbers: list[float]) -> None:
    figures = [Lettered(*each) for each in zip(LETTERS, numbers, strict=False)]
    texts = placed(lettered_strip(Band(-1.0, 1.0), figures))
    assert sorted("".join(each[0] for each in texts)) == list(LETTERS[: len(numbers)])
    spans = []
    for letters, x, y, anchor in texts:
        width = 9.0 * len(letters)
        spans.append((y, x - width if anchor == "end" else x, x if anchor == "end" else x + width))
    for index, (y, begin, end) in enumerate(spans):
        for other_y, other_begin, other_end in spans[index + 1 :]:
            assert y != other_y or end <= other_begin or other_end <= begin
