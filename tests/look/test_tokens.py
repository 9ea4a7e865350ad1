"""The colours of the look reach the contrast that sunlight asks for, and nothing else names one."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOKENS = ROOT / "clubsetup/static/look/tokens.css"
RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
COLOUR = re.compile(r"--([\w-]+):\s*(#[0-9a-f]{6});")
NAMED = re.compile(
    r"#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(|:\s*(?:white|black|red|green|gray|grey)\b"
)
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


def lists() -> list[dict[str, str]]:
    """The lists of colours in the order they stand: light, dark twice, paper."""
    text = COMMENT.sub("", TOKENS.read_text())
    return [dict(found) for _, body in RULE.findall(text) if (found := COLOUR.findall(body))]


LIGHT, DARK, DARK_CHOSEN, PAPER = lists()


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2): of each channel c / 12.92, or ((c + 0.055) / 1.055)^2.4."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """(lighter + 0.05) / (darker + 0.05), from 1 to 21 (WCAG 2.2)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_known_ends() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1
    # W3C, Understanding SC 1.4.3: the lightest grey that just passes on white.
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


# In which colour, on which, at least: light, dark.
ASKED = [
    ("ink", "paper", 18.0, 16.4),
    ("ink-2", "paper", 7.6, 8.9),
    ("ink-2", "ground", 6.9, 7.9),
    ("hair", "paper", 1.4, 1.5),
    ("rule", "paper", 4.1, 5.1),
    ("dye", "paper", 9.7, 10.8),
    ("dye-ink", "dye", 9.7, 9.8),
    ("ink", "dye-soft", 15.2, 12.2),
    ("band-edge", "paper", 4.7, 7.7),
    ("band-edge", "band", 3.5, 4.4),
    ("off", "paper", 8.1, 9.4),
    ("off", "band", 6.0, 5.4),
    ("near", "paper", 8.0, 11.4),
    ("near", "band", 5.9, 6.5),
    ("again", "paper", 9.5, 10.1),
    ("ok", "paper", 7.6, 10.9),
    ("focus", "paper", 4.8, 10.5),
]


@pytest.mark.parametrize(("front", "back", "light", "dark"), ASKED)
def test_contrast(front: str, back: str, light: float, dark: float) -> None:
    assert round(contrast(LIGHT[front], LIGHT[back]), 1) == pytest.approx(light, abs=0.051)
    assert round(contrast(DARK[front], DARK[back]), 1) == pytest.approx(dark, abs=0.051)


def test_every_text_on_the_page_reaches_seven_for_sunlight() -> None:
    for colours in (LIGHT, DARK, PAPER):
        for name in ("ink", "ink-2", "dye", "off", "near", "again", "ok"):
            assert contrast(colours[name], colours["paper"]) >= 7


def test_dark_is_the_same_whether_the_device_says_it_or_a_choice() -> None:
    assert DARK == DARK_CHOSEN


def test_each_list_has_every_colour() -> None:
    assert LIGHT.keys() == DARK.keys() == PAPER.keys()


STYLE_SHEETS = sorted(
    path
    for app in ("clubsetup", "teams", "cars", "events")
    for path in (ROOT / app).rglob("*.css")
    if path != TOKENS
)


@pytest.mark.parametrize("path", STYLE_SHEETS, ids=lambda path: path.name)
def test_no_other_sheet_names_a_colour(path: Path) -> None:
    assert NAMED.findall(COMMENT.sub("", path.read_text())) == []


@pytest.mark.parametrize("path", STYLE_SHEETS, ids=lambda path: path.name)
def test_no_sheet_asks_for_what_is_no_token(path: Path) -> None:
    known = set(re.findall(r"--([\w-]+):", TOKENS.read_text() + path.read_text()))
    # Set by a script, and each time with what holds without it.
    asked = re.findall(r"var\(--([\w-]+)(?!\s*,)\s*\)", path.read_text())
    assert set(asked) - known == set()
