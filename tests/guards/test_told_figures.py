"""No page and no trail tells a figure with a tail of digits, or in a unit nobody chose."""

import html
import re
from collections.abc import Iterator

import pytest
from django.test import Client

from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from teams.presenters.trail import club_trail, team_trail
from tests.guards.test_urls import ANSWERS, path_of
from tests.guards.world import World

TAIL = re.compile(r"[0-9]\.[0-9]{5,}")
# What is typed in these units in the world, or said in both on purpose.
TYPED = re.compile(r"\b(?:0\.1|50|150|20|100) kg\b")  # of the platform and its check, as typed
METRIC = re.compile(r"[0-9] ?(?:mm|kg|N/mm|kPa)\b")
BOTH = {
    # A record keeps what was typed; labels say both units; files are for programs.
    # Paper is told in millimetres, units are chosen by their names.
    *("entry-prints", "my-units"),
    *("records-file", "car-labels", "print-file", "ballast-photo-file", "ballast-photo-small"),
    *("export-schema", "archive-attached"),
}
READERS = ("chief", "official", "steward")


def read(world: World, reader: str) -> Iterator[tuple[str, str]]:
    """The text and the boxes of every page that this person may open."""
    client = Client()
    user = world.who()[reader]
    assert user
    client.force_login(user)
    for name, (method, codes) in ANSWERS.items():
        if method == "get" and codes[reader] == 200 and name not in BOTH:
            page = client.get(path_of(name, world)).content.decode(errors="replace")
            page = re.sub(r"(?s)<(script|style|svg)\b.*?</\1>", " ", page)
            page = re.sub(r'(?s)<div class="help".*?</div>', " ", page)
            boxes = " ".join(re.findall(r'<input[^>]* value="([^"]*)"', page))
            yield name, html.unescape(re.sub(r"<[^>]+>", " ", page) + " " + boxes)


@pytest.mark.parametrize("reader", READERS)
def test_no_page_tells_a_tail_of_digits(world: World, reader: str) -> None:
    found = {name: TAIL.findall(text) for name, text in read(world, reader)}
    assert len(found) > 25
    assert {name: tails for name, tails in found.items() if tails} == {}


@pytest.mark.parametrize("reader", READERS)
def test_who_reads_pounds_and_inches_is_told_no_millimetres(world: World, reader: str) -> None:
    found = {name: METRIC.findall(TYPED.sub("", text)) for name, text in read(world, reader)}
    assert {name: told for name, told in found.items() if told} == {}


@pytest.mark.parametrize("units", [Units.imperial(), Units.metric()])
def test_the_trail_tells_short_figures_with_the_readers_unit(world: World, units: Units) -> None:
    people = world.people
    with viewing_as(people.chief.pk):
        lines = team_trail(people.team, units=units).lines
    with viewing_as(people.steward.pk):
        lines += club_trail(people.club, units=units).lines
    details = [line.detail for line in lines]
    assert [detail for detail in details if TAIL.search(detail)] == []
    weighed = [line.detail for line in lines if line.what == "weighed a car"]
    assert weighed
    assert all(f" {units.mass}, before the race" in detail for detail in weighed)
