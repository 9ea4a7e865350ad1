"""Did it help: what the page and the API say of two groups of runs."""

import html
import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.models import Run
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run, strike_run
from cars.runs.actions.track_changes import note_track_change, put_back
from cars.runs.queries.helped import compare
from clubsetup.access.errors import Invalid
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.models import Driver
from tests.cars.plans.evening import Evening
from tests.markup import one_line
from tests.people import People

SCATTER = ("0.02", "-0.03", "0.00", "0.04", "-0.02", "-0.01", "0.03", "0.01")


@pytest.fixture
def driver(evening: Evening, people: People) -> Driver:
    with viewing_as(evening.by.pk):
        return add_driver(by=people.chief, team=people.team, display_name="Pip")


def ran(evening: Evening, driver: Driver, middle: str, ago: int, surface_state: str = "") -> Run:
    """A run of eight laps about its middle, so many minutes ago.

    The car is as the last change before it left it, though that was made but now.
    """
    laps = TimedLaps(
        [Decimal(middle) + Decimal(off) for off in SCATTER], [""] * len(SCATTER), "transponder"
    )
    run = note_run(
        by=evening.by,
        car=evening.garage.car,
        facts=RunFacts(driver=driver, surface_state=surface_state),
        laps=laps,
    )
    run.ran_at -= timedelta(minutes=ago)
    run.save(update_fields=["ran_at"])
    return run


def turned(evening: Evening) -> None:
    note_track_change(
        by=evening.by,
        sheet=evening.sheet,
        adjuster="spring-seat",
        spot="RF",
        amount=Decimal("0.5"),
        unit="turn",
    )


def evening_of_three(evening: Evening, driver: Driver, *middles: str) -> list[Run]:
    """As it was, changed, as it was again."""
    runs = [ran(evening, driver, middles[0], 6)]
    turned(evening)
    runs.append(ran(evening, driver, middles[1], 4))
    put_back(by=evening.by, sheet=evening.sheet)
    runs.append(ran(evening, driver, middles[2], 2))
    return runs


def _asked_by_the_track_page(client: Client, evening: Evening) -> str:
    """The answer that the page asks for once it is there itself."""
    track = client.get(f"/cars/{evening.garage.car.pk}/track").content.decode()
    (asked,) = re.findall('hx-get="([^"]+)"', track)
    answer = client.get(html.unescape(asked), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in answer
    return one_line(answer)


def test_half_a_second_is_told_by_three_runs(
    client: Client, evening: Evening, driver: Driver, people: People
) -> None:
    with viewing_as(evening.by.pk):
        first, changed, again = evening_of_three(evening, driver, "7.50", "7.00", "7.50")
    client.force_login(people.chief)
    page = _asked_by_the_track_page(client, evening)
    # The newest state against the one before it: going back made it slower.
    assert "slower" in page
    answer = client.get(
        "/api/v1/did-it-help", {"before": f"{first.pk},{again.pk}", "after": str(changed.pk)}
    ).json()
    assert answer["verdict"] == "faster"
    assert answer["low_s"] < answer["difference_s"] < answer["high_s"] < 0
    assert answer["difference_s"] == pytest.approx(-0.5, abs=0.03)
    assert answer["warnings"] == []


def test_one_pair_never_tells(
    client: Client, evening: Evening, driver: Driver, people: People
) -> None:
    with viewing_as(evening.by.pk):
        ran(evening, driver, "7.50", 6)
        turned(evening)
        ran(evening, driver, "6.50", 4)
    client.force_login(people.chief)
    page = _asked_by_the_track_page(client, evening)
    assert "1 pair of runs: cannot tell" in page
    assert "Run it again as it was before" in page


def test_the_same_car_twice_is_no_change(evening: Evening, driver: Driver) -> None:
    with viewing_as(evening.by.pk):
        runs = evening_of_three(evening, driver, "7.50", "7.50", "7.50")
        compared = compare(evening.garage.car, [runs[0].pk, runs[2].pk], [runs[1].pk])
        assert compared.help.verdict in {"cannot tell", "no difference worth having"}
        assert compared.help.low_s < 0 < compared.help.high_s


def test_what_else_was_other_is_a_warning(evening: Evening, driver: Driver) -> None:
    with viewing_as(evening.by.pk):
        one = ran(evening, driver, "7.50", 6, surface_state="damp")
        other = ran(evening, driver, "7.40", 4, surface_state="dry-slick")
        compared = compare(evening.garage.car, [one.pk], [other.pk])
        assert compared.help.warnings == ("surface state",)


def test_what_cannot_be_compared_is_named(
    client: Client, evening: Evening, driver: Driver, people: People
) -> None:
    with viewing_as(evening.by.pk):
        one, other, third = (ran(evening, driver, "7.50", ago) for ago in (6, 4, 2))
        strike_run(by=evening.by, run=third, reason="Noted twice.")
        silent = note_run(by=evening.by, car=evening.garage.car, facts=RunFacts(driver=driver))
        car = evening.garage.car
        for before, after, field in (
            ([], [one.pk], "before"),
            ([one.pk], [], "after"),
            ([one.pk], [one.pk], "after"),
            ([one.pk], [third.pk], "after"),
            ([silent.pk], [one.pk], "before"),
        ):
            with pytest.raises(Invalid) as refused:
                compare(car, before, after)
            assert refused.value.field == field
    client.force_login(people.chief)
    page = f"/cars/{evening.garage.car.pk}/did-it-help"
    refused_page = client.get(page, {"before": str(one.pk), "after": str(one.pk)})
    assert refused_page.status_code == 400
    assert "not both" in refused_page.content.decode()
    for asked in ({}, {"before": "x", "after": str(one.pk)}, {"before": str(other.pk)}):
        assert client.get("/api/v1/did-it-help", asked).status_code == 400


def test_the_page_keeps_what_was_chosen(
    client: Client, evening: Evening, driver: Driver, people: People
) -> None:
    with viewing_as(evening.by.pk):
        runs = evening_of_three(evening, driver, "7.50", "7.00", "7.50")
    client.force_login(people.chief)
    asked = {"before": [str(runs[0].pk), str(runs[2].pk)], "after": [str(runs[1].pk)]}
    page = client.get(f"/cars/{evening.garage.car.pk}/did-it-help", asked).content.decode()
    assert "faster" in page
    assert page.count("checked") == 3
    assert "spring seat RF" in one_line(page)


def test_turning_the_page_keeps_what_was_chosen(
    client: Client,
    evening: Evening,
    driver: Driver,
    people: People,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("cars.runs.pages.helped.MOST_COMPARED", 2)
    with viewing_as(evening.by.pk):
        runs = evening_of_three(evening, driver, "7.50", "7.00", "7.50")
    client.force_login(people.chief)
    url = f"/cars/{evening.garage.car.pk}/did-it-help"
    chosen = {"before": str(runs[2].pk)}
    older = client.get(url, {**chosen, "older": str(runs[1].pk)})
    assert older.status_code == 200  # one group alone is refused only when it is asked of
    kept = f'<input type="hidden" name="before" value="{runs[2].pk}">'
    assert kept in one_line(older.content.decode())
    both = {"before": [str(runs[2].pk), str(runs[0].pk)], "after": [str(runs[1].pk)]}
    assert "faster" in client.get(url, {**both, "older": str(runs[1].pk)}).content.decode()


def test_only_who_reads_the_runs_may_ask(
    client: Client, evening: Evening, driver: Driver, people: People
) -> None:
    with viewing_as(evening.by.pk):
        runs = evening_of_three(evening, driver, "7.50", "7.00", "7.50")
    asked = {"before": str(runs[0].pk), "after": str(runs[1].pk)}
    for person, page, api in (
        *((people.crew, 200, 200), (people.guest, 200, 200), (people.coach, 200, 200)),
        *((people.official, 404, 400), (people.steward, 404, 400), (people.rival, 404, 400)),
        *((people.unlinked_coach, 404, 400), (people.stranger, 404, 400)),
    ):
        client.force_login(person)
        assert client.get(f"/cars/{evening.garage.car.pk}/did-it-help").status_code == page
        assert client.get("/api/v1/did-it-help", asked).status_code == api, person


def test_as_many_queries_for_three_runs_of_the_record_as_for_nine(
    evening: Evening, driver: Driver
) -> None:
    counts = []
    with viewing_as(evening.by.pk):
        for _ in range(3):
            runs = evening_of_three(evening, driver, "7.50", "7.45", "7.50")
            with CaptureQueriesContext(connection) as asked:
                compare(evening.garage.car, [runs[0].pk], [runs[1].pk])
            counts.append(len(asked))
    assert counts == [2, 2, 2]
