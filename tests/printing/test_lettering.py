"""Text stays within the place it is set for, in the widest typeface that may be at hand."""

from unicodedata import category

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.printing.lettering import LEADING, fit, width_of

BOLD = "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"


@pytest.fixture(scope="module")
def advances() -> dict[str, float]:
    """DejaVu Sans Bold's own widths, in heights of the type: its hmtx table (OpenType 1.9)."""
    font = TTFont(BOLD)
    units = font["head"].unitsPerEm
    return {chr(code): font["hmtx"][name][0] / units for code, name in font.getBestCmap().items()}


def test_no_sign_is_wider_than_it_is_taken_for(advances: dict[str, float]) -> None:
    joined = ("Mn", "Me", "Cf", "Mc", "Zs")
    signs = {c: w for c, w in advances.items() if category(c) not in joined and ord(c) > 32}
    assert len(signs) > 5000
    too_wide = {c: w for c, w in signs.items() if w > width_of(c) + 1e-9 and c.isprintable()}
    assert too_wide == {}


@given(st.text(min_size=1, max_size=80), st.integers(1, 3))
def test_what_is_fitted_stays_in_its_place_and_is_whole(text: str, lines: int) -> None:
    fitted = fit(text, room=30.0, largest=8.0, height=10.0, lines=lines)
    assert 0 < fitted.size <= 8.0
    assert len(fitted.lines) <= lines
    assert all(width_of(line) * fitted.size <= 30.0 + 1e-6 for line in fitted.lines)
    assert len(fitted.lines) * LEADING * fitted.size <= 10.0 + 1e-6
    whole = "".join(fit(text, room=1e9, largest=1.0, height=1e9).lines).split()
    assert "".join("".join(fitted.lines).split()) == "".join(whole)


def test_a_line_more_is_taken_only_where_it_helps() -> None:
    assert fit("Robin", room=40, largest=5, height=12, lines=3).lines == ("Robin",)
    two = fit("Robin of the Long Meadow Lane", room=30, largest=5, height=12, lines=2)
    assert two.lines == ("Robin of the Long", "Meadow Lane")
