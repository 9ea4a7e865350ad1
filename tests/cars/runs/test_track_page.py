"""A car at the track: a run in five taps, a change in two, putting it back in one."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.models import Feel, Run, RunDetails, TrackChange
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.markup import one_line, plain
from tests.people import People

TAPS = {"entry": "loose", "middle": "turns", "exit": "", "hands": "bit-left", "steering": "good"}


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return str(answer.content.decode())


def filled_in(page: str) -> dict[str, Any]:
    """What the page's form sends where nothing is touched: what a phone sends after five taps."""
    sent = dict(
        re.findall(
            r'<input type="hidden" name="(row_id|seen_\w+|initial-\w+)" value="([^"]*)"', page
        )
    )
    for name, body in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', body)
        sent[name] = chosen[1] if chosen else ""
    for name, value in re.findall(
        r'<input type="(?:time|text)" name="(\w+)" value="([^"]*)"', page
    ):
        sent[name] = value
    for name, value in re.findall(
        r'name="(entry|middle|exit|hands|steering)"\s+value="([\w-]*)"\s+checked', page
    ):
        sent[name] = value
    return sent


def track(garage: Garage) -> str:
    return f"/cars/{garage.car.pk}/track"


def test_five_taps_and_a_save_make_a_run(chief: Client, evening: Evening, people: People) -> None:
    page = text_of(chief, track(evening.garage))
    assert "Save run 1" in one_line(page)
    answer = chief.post(track(evening.garage), {**filled_in(page), **TAPS})
    with viewing_as(people.chief.pk):
        run = Run.objects.get()
        feel = Feel.objects.get()
    assert answer["Location"] == f"/runs/{run.pk}/"
    assert (feel.entry, feel.middle, feel.exit, feel.hands) == ("loose", "turns", "", "bit-left")
    shown = plain(text_of(chief, f"/runs/{run.pk}/"))
    assert "loose, turns, not said; hands a bit left; good" in shown
    assert "Run 2" in plain(text_of(chief, track(evening.garage)))


def test_sent_twice_it_is_one_run(chief: Client, evening: Evening, people: People) -> None:
    sent = {**filled_in(text_of(chief, track(evening.garage))), **TAPS}
    first = chief.post(track(evening.garage), sent)
    assert chief.post(track(evening.garage), sent)["Location"] == first["Location"]
    with viewing_as(people.chief.pk):
        assert Run.objects.count() == 1


def test_the_next_run_is_filled_in_from_the_last(
    chief: Client, evening: Evening, people: People
) -> None:
    sent = filled_in(text_of(chief, track(evening.garage)))
    chief.post(
        track(evening.garage),
        {**sent, "kind": "heat", "surface": "paved", "surface_state": "damp", "fuel": "1/2 gal"},
    )
    again = filled_in(text_of(chief, track(evening.garage)))
    assert (again["kind"], again["surface_state"]) == ("heat", "damp")
    assert again["fuel"] == "1/2 gal"
    assert again["row_id"] != sent["row_id"]


def test_only_what_was_touched_is_corrected(
    chief: Client, evening: Evening, people: People
) -> None:
    sent = filled_in(text_of(chief, track(evening.garage)))
    address = chief.post(track(evening.garage), {**sent, **TAPS})["Location"]
    again = filled_in(text_of(chief, address))
    assert again["entry"] == "loose"
    chief.post(address, {**again, "note": "Wind from the back."})
    with viewing_as(people.chief.pk):
        assert RunDetails.objects.count() == 2
        assert Feel.objects.count() == 1
    # Another phone has the page of before the note, and corrects the feel: nobody loses anything.
    answer = chief.post(address, {**again, "entry": "pushes"})
    assert answer.status_code == 302
    with viewing_as(people.chief.pk):
        assert RunDetails.objects.current().get().note == "Wind from the back."
        assert Feel.objects.current().get().entry == "pushes"


def test_two_phones_that_correct_the_same_are_told(
    chief: Client, evening: Evening, people: People
) -> None:
    sent = filled_in(text_of(chief, track(evening.garage)))
    address = chief.post(track(evening.garage), {**sent, **TAPS})["Location"]
    again = filled_in(text_of(chief, address))
    chief.post(address, {**again, "entry": "pushes"})
    refused = chief.post(address, {**again, "entry": "turns"})
    assert refused.status_code == 400
    assert "noted this run since you looked" in refused.content.decode()
    assert re.search(r'name="entry"\s+value="turns"\s+checked', refused.content.decode())


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"kind": "heat", "finish": "first"}, "is a whole number"),
        ({"kind": "practice", "finish": "2"}, "Nobody finishes a practice"),
        ({"fuel": "half"}, "may be of the tank"),
        ({"damage_spots": ["RF"]}, "Say what happened there"),
        ({"entry": "flies"}, "is not among its choices"),
    ],
)
def test_what_cannot_be_is_said_and_what_was_typed_stays(
    chief: Client, evening: Evening, people: People, wrong: dict[str, Any], says: str
) -> None:
    sent = {**filled_in(text_of(chief, track(evening.garage))), "note": "Typed.", **TAPS, **wrong}
    refused = chief.post(track(evening.garage), sent)
    assert refused.status_code == 400
    page = refused.content.decode()
    assert says in page
    assert "Typed." in page
    with viewing_as(people.chief.pk):
        assert not Run.objects.exists()


def test_a_change_in_two_taps_and_put_back_in_one(
    chief: Client, evening: Evening, people: People
) -> None:
    change = f"{track(evening.garage)}/change"
    assert 'href="?what=spring-seat.RF"' in text_of(chief, change)
    assert 'value="1/2"' in text_of(chief, f"{change}?what=spring-seat.RF")
    chief.post(f"{change}?what=spring-seat.RF", {"amount": "1/2"})
    page = plain(text_of(chief, track(evening.garage)))
    assert "spring seat RF +1/2 turn" in page
    assert re.search(r"Cross</th>\s*<td[^>]*>52\.1%</td>\s*<td[^>]*>52\.\d%", page)
    chief.post(f"{track(evening.garage)}/put-back")
    page = plain(text_of(chief, track(evening.garage)))
    assert "nothing changed since" in page
    with viewing_as(people.chief.pk):
        assert TrackChange.objects.count() == 2


def test_an_amount_that_is_none_is_refused_beside_its_box(chief: Client, evening: Evening) -> None:
    address = f"{track(evening.garage)}/change?what=pressure.LR"
    for amount in ("0", "some", "51"):
        refused = chief.post(address, {"amount": amount})
        assert refused.status_code == 400
        assert f'value="{amount}"' in refused.content.decode()


def test_without_a_sheet_runs_are_noted_and_changes_refused(chief: Client, garage: Garage) -> None:
    page = text_of(chief, track(garage))
    assert "No sheet as set of this car yet" in page
    assert chief.get(f"{track(garage)}/change").status_code == 409


def test_a_struck_run_says_so_and_is_in_no_list(chief: Client, evening: Evening) -> None:
    sent = {**filled_in(text_of(chief, track(evening.garage))), **TAPS}
    address = chief.post(track(evening.garage), sent)["Location"]
    chief.post(f"{address}strike", {"reason": "Noted twice."})
    page = text_of(chief, address)
    assert "Noted twice." in page
    assert "run-form" not in page
    assert address not in text_of(chief, f"/cars/{evening.garage.car.pk}/runs")


def test_between_two_runs_stands_what_was_changed(chief: Client, evening: Evening) -> None:
    address = track(evening.garage)
    chief.post(address, {**filled_in(text_of(chief, address)), **TAPS})
    chief.post(f"{address}/change?what=pressure.LR", {"amount": "-1"})
    chief.post(address, {**filled_in(text_of(chief, address)), **TAPS})
    page = plain(text_of(chief, address))
    assert "Changed, run 1 to 2" in page
    assert "pressure LR −1 psi" in page
    assert "Note the laps of both runs" in page


def test_the_car_page_leads_to_the_track(chief: Client, evening: Evening) -> None:
    assert track(evening.garage) in text_of(chief, f"/cars/{evening.garage.car.pk}/")


def test_who_reads_a_run_and_who_writes_it(
    client: Client, evening: Evening, people: People
) -> None:
    client.force_login(people.crew)
    sent = {**filled_in(text_of(client, track(evening.garage))), **TAPS}
    address = client.post(track(evening.garage), sent)["Location"]
    for reader in (people.guest, people.coach):
        client.force_login(reader)
        page = text_of(client, address)
        assert "run-form" not in page
        assert "loose, turns, not said" in plain(page)
        assert "run-form" not in text_of(client, track(evening.garage))
        assert client.post(address, {"entry": "pushes"}).status_code == 200
        assert client.post(f"{address}strike", {"reason": "No."}).status_code == 403
        assert client.get(f"{track(evening.garage)}/change").status_code == 403
    with viewing_as(people.chief.pk):
        assert Feel.objects.get().entry == "loose"
    for other in (people.official, people.steward, people.rival, people.unlinked_coach):
        client.force_login(other)
        for hidden in (address, track(evening.garage), f"/cars/{evening.garage.car.pk}/runs"):
            assert client.get(hidden).status_code == 404


def test_as_many_queries_for_three_runs_as_for_one(chief: Client, evening: Evening) -> None:
    address = track(evening.garage)
    counts = []
    for _ in range(3):
        chief.post(address, {**filled_in(text_of(chief, address)), **TAPS})
        with CaptureQueriesContext(connection) as asked:
            text_of(chief, address)
        with CaptureQueriesContext(connection) as listed:
            text_of(chief, f"/cars/{evening.garage.car.pk}/runs")
        counts.append((len(asked), len(listed)))
    assert counts[1] == counts[2], counts
