"""A list comes page by page in its own order, whatever that is, and loses nothing on the way."""

from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
from django.db.models import Case, F, QuerySet, Value, When
from django.db.models.functions import Lower

from clubsetup.access.errors import NoSuchPage
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from clubsetup.site.list_pages import before_of, page_of
from teams.models import Track
from tests.people import People

# Name, surface and corner radius, mm; of some the radius is not known.
TRACKS = [
    *(("alder", "paved", 12000), ("Birch", "paved", None), ("cedar", "dirt", 12000)),
    *(("Dogwood", "dirt", 9000), ("elm", "paved", None), ("Fir", "dirt", 15000)),
    *(("gum", "paved", 12000), ("hazel", "dirt", None)),
]
ORDERS: dict[str, tuple[Any, ...]] = {
    "newest": ("-pk",),
    "oldest": ("id",),
    "name, as it is kept": ("name",),
    "name, backwards": ("-name",),
    "name, in either case": (Lower("name"),),
    "what is not known last": ("corner_radius", "name"),
    "what is not known first": ("-corner_radius", "-name"),
    "all known the same": ("club__name",),
    "one up, one down": ("surface", "-corner_radius"),
    "falling by an expression": (F("corner_radius").desc(), "name"),
    "in an order of one's own": (
        Case(When(surface="paved", then=Value(1)), default=Value(2)),
        Lower("name"),
        "-pk",
    ),
}


@pytest.fixture
def tracks(people: People) -> QuerySet[Track]:
    with viewing_as(people.steward.pk):
        for name, surface, radius in TRACKS:
            known = None if radius is None else Decimal(radius)
            track = Track(club=people.club, name=name, surface=surface, corner_radius=known)
            track.save(force_insert=True)
    return Track.objects.filter(club=people.club)


def pages(rows: QuerySet[Track], size: int) -> list[list[Track]]:
    """All pages of a list."""
    page, older = page_of(rows, size)
    found = [page]
    while older is not None:
        page, older = page_of(rows, size, older)
        found.append(page)
    return found


@pytest.mark.parametrize("size", [1, 3, 8, 20])
@pytest.mark.parametrize("order", ORDERS)
def test_every_row_comes_once_and_in_order(
    people: People, tracks: QuerySet[Track], order: str, size: int
) -> None:
    with viewing_as(people.steward.pk):
        rows = tracks.order_by(*ORDERS[order])
        found = pages(rows, size)
        expected = list(rows.order_by(*ORDERS[order], _last(ORDERS[order])))
        assert [row for page in found for row in page] == expected
        assert len(expected) >= len(TRACKS)
    assert all(len(page) == size for page in found[:-1])
    assert 0 < len(found[-1]) <= size


def _last(order: tuple[Any, ...]) -> str:
    """What tells apart rows that are the same in all else: as the last key goes, so does it."""
    key = order[-1]
    return "-pk" if key in ("-pk", "-name", "-corner_radius") else "pk"


def test_a_row_that_comes_meanwhile_shifts_nothing(people: People, tracks: QuerySet[Track]) -> None:
    with viewing_as(people.steward.pk):
        rows = tracks.order_by("name")
        first, older = page_of(rows, 3)
        Track(club=people.club, name="Aardvark", surface="dirt").save(force_insert=True)
        second, _ = page_of(rows, 3, older)
        assert not {row.pk for row in first} & {row.pk for row in second}


def test_a_row_that_the_list_does_not_have_begins_no_page(
    people: People, tracks: QuerySet[Track]
) -> None:
    with viewing_as(people.steward.pk):
        of_dirt = tracks.filter(surface="paved").first()
        assert of_dirt
        rows = tracks.filter(surface="dirt").order_by("name")
        for unknown in (new_id(), of_dirt.pk):
            with pytest.raises(NoSuchPage, match="no such page"):
                page_of(rows, 3, unknown)


def test_by_ids_alone_the_row_need_not_stand_there_any_more(
    people: People, tracks: QuerySet[Track]
) -> None:
    with viewing_as(people.steward.pk):
        assert page_of(tracks.order_by("-pk"), 20, new_id())[0] == list(tracks.order_by("-pk"))


def test_what_an_address_asks() -> None:
    there = new_id()
    assert before_of({}) is None
    assert before_of({"before": ""}) is None
    assert before_of({"before": str(there)}) == UUID(str(there))
    assert before_of({"before": "x", "teams": str(there)}, "teams") == there
    with pytest.raises(NoSuchPage, match="no such page") as refused:
        before_of({"teams": "x"}, "teams")
    assert refused.value.field == "teams"
