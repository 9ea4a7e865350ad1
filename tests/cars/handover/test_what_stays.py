"""What the receiver can find out: nothing of the driver's unless it was read and ticked."""

import json
import re
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from drf_spectacular.generators import SchemaGenerator

from cars.catalogue.queries import catalogue
from cars.handover.queries.goods import goods_of
from cars.handover.queries.hidden_weight import U_SHARE, hidden_weight_within
from cars.handover.queries.ticks import ticks_of
from cars.models import Car, HandedSheet, Handover, Reading, Sheet
from cars.sheets.prints import SETUP_SHEET
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob
from teams.actions.erasing import erase_driver
from tests.cars.handover.giving import (
    CODE,
    COMMENT,
    DAMAGE,
    DRIVER_LB,
    NAME,
    NOTE,
    REASON,
    RUN_NOTE,
    WORDS,
    Giving,
)
from tests.people import People, show_again

LB = 0.45359237
# Where a driver of known weight sits in this car, found on the receiver's scales.
SEAT = {"LF": 0.17, "RF": 0.18, "LR": 0.33, "RR": 0.32}
READ_LB = {"LF": 72.5, "RF": 66.0, "LR": 96.5, "RR": 78.0}
OURS = ("cars", "teams", "events", "printing")
SIDES = {"left": ("LF", "LR"), "rear": ("LR", "RR"), "cross": ("RF", "LR")}


def ticks(giving: Giving, people: People, history: str = "set") -> dict[str, str]:
    """Ids of all that may be ticked, by what each says."""
    with viewing_as(people.chief.pk):
        car = Car.objects.get(pk=giving.garage.car.pk)
        found = ticks_of(goods_of(car, history), catalogue())
        return {tick.says: tick.pk for tick in found if tick.run is None}


def everything(giving: Giving) -> str:
    """All that the receiver can reach: every row of every table, every page and every list of the
    API that can be walked to, the trail, and the prints of the sheets."""
    found = []
    receiver = giving.receiver
    with viewing_as(receiver.pk):
        ours: list[Any] = [m for app in OURS for m in apps.get_app_config(app).get_models()]
        for model in [*ours, TrailLine]:
            found += [json.dumps(row, default=str) for row in model._default_manager.values()]
        found += [
            SETUP_SHEET.page(sheet, receiver)
            for sheet in Sheet.objects.select_related("team__club")
        ]
    client = Client()
    show_again(client, receiver)
    found += walked(client) + listed(client)
    return "\n".join(found)


def walked(client: Client) -> list[str]:
    """Every page that links lead to from the first one on."""
    waiting, seen, found = ["/"], set(), []
    while waiting:
        path = waiting.pop()
        if path in seen or path.startswith(("/accounts/", "/static/", "/api/v1/schema")):
            continue
        seen.add(path)
        answer = client.get(path, follow=True)
        if "text/html" not in answer.headers.get("Content-Type", ""):
            body = answer.getvalue() if answer.streaming else answer.content
            found.append(body.decode(errors="replace"))
            continue
        page = answer.content.decode()
        found.append(page)
        waiting += re.findall(r'href="(/[^"#]*)', page.replace("&amp;", "&"))
    assert len(found) > 20
    return found


def listed(client: Client) -> list[str]:
    """Every list of the API, and every row on it by its id."""
    found = []
    schema = SchemaGenerator().get_schema(request=None, public=True)
    for path, methods in schema["paths"].items():
        if "get" not in methods or "{" in path:
            continue
        answer = client.get(path)
        found.append(answer.content.decode())
        for pk in re.findall(r'"id":"([0-9a-f-]{36})"', found[-1]):
            found.append(client.get(f"{path}/{pk}").content.decode())
    assert any('"2 5/16"' in text for text in found)
    return found


def test_of_the_driver_nothing_goes_along_unasked(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "all")
    giving.take(code)
    reached = everything(giving)
    for words in (NAME, NOTE, COMMENT, WORDS, RUN_NOTE, DAMAGE, REASON, CODE):
        assert words not in reached, words
    for figure in (f"{DRIVER_LB:g} lb", "11.73", "7.31", "53.5", "7.412", "51.9"):
        assert figure not in reached, figure
    assert str(giving.driver.pk) not in reached
    assert work_out(giving) is None


def work_out(giving: Giving) -> float | None:
    """The driver's weight, lb, by whoever has the car, its scales and all that came with it.

    Weights read with the driver against the car alone; else each share against the car weighed
    empty and the seat, s (m + W) = p m + f W.
    """
    empty = {c: READ_LB[c] - DRIVER_LB * SEAT[c] for c in SEAT}
    alone = sum(empty.values())
    with viewing_as(giving.receiver.pk):
        seated = Reading.objects.filter(measure__in=["weight", "total-weight"])
        shares = Reading.objects.filter(measure__in=["left-share", "rear-share", "cross"])
        assert not seated.exists()
        assert not shares.exists()
        contents = [row.content for row in HandedSheet.objects.all()]
        offered = [row.package for row in Handover.objects.all()]
    contents += [sheet for package in offered for sheet in package["sheets"]]
    # A plan's cross is a share too, read before its turns.
    contents += [
        {"shares": {"cross": plan["cross_before"]}}
        for content in contents
        for plan in content.get("plans", [])
    ]
    tops, bottoms = 0.0, 0.0
    for content in contents:
        for name, percent in content.get("shares", {}).items():
            s = percent / 100.0
            p = sum(empty[c] for c in SIDES[name]) / alone
            f = sum(SEAT[c] for c in SIDES[name])
            weight = (f - s) ** 2
            tops += weight * alone * (s - p) / (f - s)
            bottoms += weight
    return tops / bottoms if bottoms else None


def test_the_car_alone_is_told_to_the_pound_and_no_load_with_the_driver(
    giving: Giving, people: People
) -> None:
    _, code = giving.offer(people.chief, "set")
    giving.take(code)
    with viewing_as(giving.receiver.pk):
        content = HandedSheet.objects.get().content
    assert content["car_alone"] == pytest.approx((sum(READ_LB.values()) - DRIVER_LB) * LB, abs=0.26)
    assert not {"shares", "ballast", "driver", "words", "codes"} & set(content)


@pytest.mark.parametrize("sort", ["loads", "plan"])
def test_what_is_ticked_tells_the_weight_as_closely_as_the_tick_says(
    giving: Giving, people: People, sort: str
) -> None:
    with viewing_as(people.chief.pk):
        car = Car.objects.get(pk=giving.garage.car.pk)
        (tick,) = (t for t in ticks_of(goods_of(car, "set"), catalogue()) if t.sort == sort)
    client = Client()
    show_again(client, people.chief)
    page = client.get(f"/cars/{car.pk}/handover", {"history": "set"}).content.decode()
    assert "the driver&#x27;s weight then can be worked out to about ± 2 lb" in page
    _, code = giving.offer(people.chief, "set", [tick.pk])
    giving.take(code)
    weight = work_out(giving)
    assert weight is not None
    assert tick.within is not None
    assert abs(weight - DRIVER_LB) < tick.within / LB


def test_how_closely_shares_tell_it_by_hand() -> None:
    """u(W) = u(s) (m + W) / |f - s| of one share; two of the same worth are 1/sqrt(2) of it."""
    one = hidden_weight_within(140.0, {"left": 0.55})
    assert one == pytest.approx(2 * U_SHARE * 140.0 / 0.05)
    both = hidden_weight_within(140.0, {"left": 0.55, "cross": 0.45})
    assert both == pytest.approx(2 * U_SHARE * 140.0 / 0.05 / 2**0.5)
    assert hidden_weight_within(140.0, {"left": 0.5}) is None


@pytest.mark.parametrize("says", [NAME, NOTE, COMMENT, WORDS, f"Spring LF: {CODE}"])
def test_what_is_ticked_goes_and_nothing_beside_it(
    giving: Giving, people: People, says: str
) -> None:
    known = ticks(giving, people)
    _, code = giving.offer(people.chief, "set", [known[says], "note:of-nothing"])
    giving.take(code)
    with viewing_as(giving.receiver.pk):
        told = json.dumps(HandedSheet.objects.get().content)
    others = {NOTE, COMMENT, WORDS, CODE} - {says.removeprefix("Spring LF: ")}
    assert says in told
    assert not [text for text in others if text in told]


def test_erasing_a_driver_reaches_what_was_handed_over(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "all", ticks(giving, people).values())
    handover = giving.take(code)
    assert NAME in everything(giving)
    with viewing_as(giving.receiver.pk):
        copies = HandedSheet.objects.filter(handover=handover.pk).values_list("sheet", flat=True)
        printed = [("sheet", pk) for pk in copies]
        printed += [("car-book", giving.garage.car.pk), ("handover", handover.pk)]
        for document, pk in printed:
            ask_for_print(by=giving.receiver, document=document, subject_id=pk)
        assert PrintJob.objects.count() == len(printed) > 2
    with viewing_as(people.chief.pk):
        erase_driver(by=people.chief, driver=giving.driver)
    with viewing_as(giving.receiver.pk):
        assert not PrintJob.objects.exists()
    reached = everything(giving)
    assert NAME not in reached
    assert '"shares": {' not in reached
    assert CODE in reached


def test_the_trail_names_neither_team_to_the_other(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "none")
    giving.take(code)
    for user, other in ((people.chief, giving.receiver), (giving.receiver, people.chief)):
        with viewing_as(user.pk):
            lines = TrailLine.objects.filter(on_id=giving.garage.car.pk)
            assert lines.exists()
            assert not lines.filter(by=other).exists()


def test_a_print_that_waits_is_of_the_givers_own_sheet(giving: Giving, people: People) -> None:
    with viewing_as(people.chief.pk):
        job = ask_for_print(by=people.chief, document="sheet", subject_id=giving.set.pk)
    _, code = giving.offer(people.chief, "all")
    giving.take(code)
    with viewing_as(people.chief.pk):
        page = SETUP_SHEET.page(
            Sheet.objects.select_related("team__club").get(pk=giving.set.pk), people.chief
        )
    assert NOTE in page
    assert "41" not in re.findall(r"car (\S+),", page)
    with viewing_as(giving.receiver.pk):
        assert not PrintJob.objects.filter(pk=job.pk).exists()
