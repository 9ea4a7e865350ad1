"""The page beside the package: its example runs, its drawings are there and are drawings."""

import doctest
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import cars.mechanics

PAGE = Path(cars.mechanics.__file__).with_name("README.md")
SVG = "{http://www.w3.org/2000/svg}"


def test_the_example_gives_what_it_says() -> None:
    tried = doctest.testfile(str(PAGE), module_relative=False)
    assert tried.attempted >= 5
    assert tried.failed == 0


@pytest.mark.parametrize("link", re.findall(r"!\[[^\]]+\]\(([^)]+)\)", PAGE.read_text()))
def test_each_drawing_is_there_and_says_what_it_shows(link: str) -> None:
    drawing = ElementTree.parse(PAGE.parent / link).getroot()
    assert drawing.tag == f"{SVG}svg"
    for name in ("title", "desc"):
        assert drawing.findtext(f"{SVG}{name}", "").strip()


def test_the_page_has_two_drawings() -> None:
    assert len(re.findall(r"\]\(drawings/[^)]+\.svg\)", PAGE.read_text())) == 2


def test_every_module_named_on_the_page_exists() -> None:
    named = set(re.findall(r"`(\w+\.py)`", PAGE.read_text()))
    assert len(named) >= 9
    for name in named:
        assert PAGE.with_name(name).exists(), name


def test_the_package_answers_by_itself() -> None:
    for name in ("plan_turns", "plan_ballast", "calibrate", "response", "shares", "BlockChart"):
        assert callable(getattr(cars.mechanics, name))
    for name in ("air", "drift", "kingpin", "rods", "turning"):
        assert getattr(cars.mechanics, name).__doc__
