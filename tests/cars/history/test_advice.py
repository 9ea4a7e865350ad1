"""Advice: where it stands and until when, who writes it, and what is said of what came of it."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from cars.history.actions.advice import leave_advice, reply_to_advice, tick_off_advice
from cars.history.queries.advice import since
from cars.models import Advice, Measure
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.actions.teams import unlink_coach
from teams.models import CoachLink, Driver
from teams.queries.roles import forget_roles
from tests.cars.garage import Garage, typed
from tests.cars.history.fleet import set_sheet
from tests.cars.runs.test_api import EVERYBODY, SEES, WRITES, caller, done, pointer
from tests.cars.runs.test_helped import SCATTER
from tests.markup import one_line
from tests.people import People

SAYS = "Check the right front spindle before you turn anything."


@pytest.fixture
def advice(people: People, garage: Garage) -> Advice:
    """On the right front height, which the coach would like at 2 1/2 in."""
    return left(people, garage, wanted="2 1/2 in")


def left(people: People, garage: Garage, wanted: str = "", text: str = SAYS) -> Advice:
    with viewing_as(people.coach.pk):
        measure = Measure.objects.get(pk="ride-height")
        return leave_advice(
            by=people.coach,
            car=garage.car,
            text=text,
            measure=measure,
            spot="RF",
            wanted=typed(measure, wanted) if wanted else None,
        )


def day_of(advice: Advice) -> date:
    """The day on which it was written, by the club's clock."""
    return timezone.localdate(advice.created_at, advice.team.club.zone())


def browser(people: People, who: str) -> Client:
    client = Client()
    client.force_login(getattr(people, who))
    return client


def says(people: People, who: str, path: str) -> str:
    answer = browser(people, who).get(path)
    assert answer.status_code == 200, path
    return one_line(answer.content.decode())


def stands_on(people: People, garage: Garage, who: str = "chief") -> list[str]:
    """Which pages have it: home, the car's, the step of the heights, the first step."""
    with viewing_as(people.chief.pk):
        sheet = garage.car.sheets.filter(role="found").first() or garage.sheet(people.chief)
        step = Measure.objects.get(pk="ride-height").step_id
    paths = {
        "home": "/",
        "car": f"/cars/{garage.car.pk}/",
        "step": f"/sheets/{sheet.pk}/bench/{step}/",
        "first": f"/sheets/{sheet.pk}/bench/tyres/",
    }
    return [name for name, path in paths.items() if SAYS in says(people, who, path)]


def test_it_stands_on_the_familys_pages_until_ticked_off(
    people: People, garage: Garage, advice: Advice
) -> None:
    assert stands_on(people, garage) == ["home", "car", "step"]
    assert stands_on(people, garage, "guest") == ["home", "car", "step"]
    assert browser(people, "crew").post(f"/advice/{advice.pk}/tick-off").status_code == 302
    assert stands_on(people, garage) == []
    assert "Ticked off by Crew" in says(people, "coach", f"/advice/{advice.pk}/")


def test_an_answer_takes_it_off_and_the_coachs_next_word_puts_it_back(
    people: People, garage: Garage, advice: Advice
) -> None:
    path = f"/advice/{advice.pk}/"
    browser(people, "coach").post(path, {"text": "And measure it twice."})
    assert stands_on(people, garage) == ["home", "car", "step"]
    browser(people, "chief").post(path, {"text": "It was bent. We changed it."})
    assert stands_on(people, garage) == []
    browser(people, "coach").post(path, {"text": "Then weigh it again."})
    assert stands_on(people, garage) == ["home", "car", "step"]
    page = says(people, "guest", path)
    words = ["And measure it twice.", "It was bent. We changed it.", "Then weigh it again."]
    assert [page.index(word) for word in words] == sorted(page.index(word) for word in words)


def test_advice_on_the_whole_car_stands_at_the_first_step(people: People, garage: Garage) -> None:
    with viewing_as(people.coach.pk):
        leave_advice(by=people.coach, car=garage.car, text=SAYS)
    assert stands_on(people, garage) == ["home", "car", "first"]


def test_without_a_figure_only_the_tick_is_told(people: People, garage: Garage) -> None:
    row = left(people, garage)
    page = says(people, "coach", f"/advice/{row.pk}/")
    assert "It names no figure, so readings cannot tell whether it was followed." in page


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ("2 1/2", "Followed: it is where the advice wanted it."),
        ("2 3/8", "Followed in part: it came nearer to what the advice wanted."),
    ],
)
def test_readings_say_whether_it_was_followed(
    people: People, garage: Garage, after: str, said: str
) -> None:
    set_sheet(people.chief, garage.car, {"ride-height.RF": "2 3/16"})
    row = left(people, garage, wanted="2 1/2 in")
    path = f"/advice/{row.pk}/"
    assert "nothing tells whether it was followed" in says(people, "coach", path)
    # What was set on a day before followed nothing, however late it was typed in.
    day = day_of(row)
    set_sheet(people.chief, garage.car, {"ride-height.RF": after}, day - timedelta(days=1))
    assert "nothing tells whether it was followed" in says(people, "coach", path)
    set_sheet(people.chief, garage.car, {"ride-height.RF": after}, day)
    page = says(people, "coach", path)
    assert said in page
    assert "Whether it helped: it takes runs with laps on both sheets." in page


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ("2", "It went the other way."),
        ("2 3/16", "It moved by no more than the tools can tell."),
    ],
)
def test_what_was_not_followed_is_held_against_no_runs(
    people: People, garage: Garage, after: str, said: str
) -> None:
    row = followed(people, garage, "2 3/16", after, ["7.50"] * 3, ["7.50"] * 3)
    page = says(people, "coach", f"/advice/{row.pk}/")
    assert said in page
    same = "The figure is the same as before, so runs say nothing of the advice."
    other = "It was not followed, so runs do not say whether it helps."
    assert (same if after == "2 3/16" else other) in page


@pytest.mark.parametrize(
    ("before", "after", "verdict"),
    [
        (["7.50", "7.52", "7.49"], ["6.90", "6.91", "6.88"], "faster"),
        (["6.90", "6.91", "6.88"], ["7.50", "7.52", "7.49"], "slower"),
        (["7.50"], ["6.90"], "cannot tell"),
        (["7.20", "7.80", "7.50"], ["7.75", "7.30", "7.40"], "cannot tell"),
    ],
)
def test_runs_on_the_sheets_before_and_since_say_whether_it_helped(
    people: People, garage: Garage, before: list[str], after: list[str], verdict: str
) -> None:
    row = followed(people, garage, "2 3/16", "2 1/2", before, after)
    with viewing_as(people.coach.pk):
        found = since(row)
        assert found
        assert found.help
        assert found.help.verdict == verdict
        assert found.is_pair == (len(before) == 1)
    page = says(people, "coach", f"/advice/{row.pk}/")
    assert verdict in page
    assert "The runs on the sheet before against those on the sheet since" in page


def test_a_figure_that_stood_there_already_is_held_against_no_runs(
    people: People, garage: Garage
) -> None:
    row = followed(people, garage, "2 1/2", "2 1/2", ["7.50"] * 3, ["6.90"] * 3)
    page = says(people, "coach", f"/advice/{row.pk}/")
    assert "Followed: it is where the advice wanted it." in page
    assert "The figure is the same as before, so runs say nothing of the advice." in page
    assert "faster" not in page


def followed(
    people: People,
    garage: Garage,
    was: str,
    now: str,
    before: list[str],
    after: list[str],
) -> Advice:
    """Advice for 2 1/2 in, a sheet before and one since, each with runs, one a day."""
    with viewing_as(people.chief.pk):
        driver = add_driver(by=people.chief, team=people.team, display_name="Pip")
    with patch.object(timezone, "now", return_value=timezone.now() - timedelta(days=15)):
        set_sheet(people.chief, garage.car, {"ride-height.RF": was})
        row = left(people, garage, wanted="2 1/2 in")
    for ago, middle in enumerate(before):
        ran(people, garage, driver, middle, days=20 - ago)
    set_sheet(people.chief, garage.car, {"ride-height.RF": now}, day_of(row))
    for ago, middle in enumerate(after):
        ran(people, garage, driver, middle, days=10 - ago)
    return row


def ran(people: People, garage: Garage, driver: Driver, middle: str, days: int) -> None:
    times = [Decimal(middle) + Decimal(off) for off in SCATTER]
    with viewing_as(people.chief.pk):
        note_run(
            by=people.chief,
            car=garage.car,
            facts=RunFacts(driver=driver, surface="paved"),
            laps=TimedLaps(times, [""] * len(times), "transponder"),
            ran_at=timezone.now() - timedelta(days=days),
        )


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_reads_and_who_writes(people: People, garage: Garage, advice: Advice, who: str) -> None:
    client = browser(people, who)
    call, path = caller(client), f"advice/{advice.pk}"
    car, sees = garage.car.pk, who in SEES
    for page in (f"/advice/{advice.pk}/", f"/cars/{car}/advice"):
        assert client.get(page).status_code == (200 if sees else 404), page
    assert (SAYS in client.get("/advice/").content.decode()) == sees
    wanted = 200 if who == "coach" else 403 if sees else 404
    assert client.get(f"/cars/{car}/advise").status_code == wanted
    assert call("get", path).status_code == (200 if sees else 404)
    assert bool(done(call("get", "advice"))["results"]) == sees
    made = call("post", "advice", {"car": str(car), "text": "Look at it."})
    assert made.status_code == (201 if who == "coach" else 403 if sees else 400)
    writes = 201 if who in {*WRITES, "coach"} else 403 if sees else 404
    assert call("post", f"{path}/replies", {"text": "Done."}).status_code == writes
    ticked = call("post", f"{path}/tick-off").status_code
    assert ticked == (200 if writes == 201 else writes)


def test_a_coach_whose_link_ended_reads_and_writes_it_no_more(
    people: People, garage: Garage, advice: Advice
) -> None:
    with viewing_as(people.chief.pk):
        unlink_coach(by=people.chief, link=CoachLink.objects.get(coach=people.coach))
    forget_roles(people.coach)
    with viewing_as(people.coach.pk):
        assert not Advice.objects.exists()
        with pytest.raises(NotAllowed):
            tick_off_advice(by=people.coach, advice=advice)
        with pytest.raises(NotAllowed):
            leave_advice(by=people.coach, car=garage.car, text=SAYS)
    assert browser(people, "coach").get(f"/advice/{advice.pk}/").status_code == 404
    # The family keeps it.
    assert SAYS in says(people, "chief", f"/advice/{advice.pk}/")


def test_each_write_leaves_its_line(people: People, garage: Garage, advice: Advice) -> None:
    with viewing_as(people.chief.pk):
        reply_to_advice(by=people.chief, advice=advice, text="We will.")
        tick_off_advice(by=people.chief, advice=advice)
        with pytest.raises(WrongState):
            tick_off_advice(by=people.chief, advice=advice)
        lines = TrailLine.objects.filter(did__in=["advised", "answered", "ticked_off"])
        assert sorted(lines.values_list("did", "by")) == [
            ("advised", people.coach.pk),
            ("answered", people.chief.pk),
            ("ticked_off", people.chief.pk),
        ]


REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"text": " "}, "text"),
    ({"text": "x" * 1001}, "text"),
    ({"spot": "RF"}, "measure"),
    ({"wanted": "2 in"}, "wanted"),
    ({"measure": "ride-height", "spot": "front"}, "spot"),
    ({"measure": "ride-height", "spot": "RF", "wanted": "40 in"}, "wanted"),
    ({"measure": "ride-height", "spot": "RF", "wanted": "wide"}, "wanted"),
]


@pytest.mark.parametrize(("sent", "field"), REFUSED)
def test_what_the_api_refuses_names_its_field(
    people: People, garage: Garage, sent: dict[str, Any], field: str
) -> None:
    call = caller(browser(people, "coach"))
    answer = call("post", "advice", {"car": str(garage.car.pk), "text": SAYS, **sent})
    assert pointer(answer) == f"#/{field}"
    with viewing_as(people.coach.pk):
        assert not Advice.objects.exists()


def test_what_was_typed_stays_on_the_page(people: People, garage: Garage) -> None:
    client = browser(people, "coach")
    sent = {"text": SAYS, "box": "ride-height.RF", "wanted": "40 in"}
    answer = client.post(f"/cars/{garage.car.pk}/advise", sent)
    page = one_line(answer.content.decode())
    assert "40 in cannot be right" in page
    assert SAYS in page
    assert 'value="40 in"' in page
    assert 'value="ride-height.RF" selected' in page
    answer = client.post(f"/cars/{garage.car.pk}/advise", {**sent, "box": ""})
    assert "Say of which measure this is the figure." in answer.content.decode()
    answer = client.post(f"/cars/{garage.car.pk}/advise", {**sent, "wanted": "2 1/2"})
    assert answer.status_code == 302


def test_sending_twice_makes_one(people: People, garage: Garage) -> None:
    call = caller(browser(people, "coach"))
    sent = {"id": str(new_id()), "car": str(garage.car.pk), "text": SAYS}
    made = done(call("post", "advice", sent), 201)
    assert done(call("post", "advice", sent)) == made
    assert call("post", "advice", {**sent, "text": "Else."}).status_code == 409
    answer = {"id": str(new_id()), "text": "Now."}
    path = f"advice/{made['id']}/replies"
    assert done(call("post", path, answer), 201) == done(call("post", path, answer))
    assert len(done(call("get", f"advice/{made['id']}"))["replies"]) == 1


def test_the_lists_take_as_many_queries_for_one_as_for_three(
    people: People, garage: Garage, advice: Advice
) -> None:
    paths = {"/advice/": 8, f"/cars/{garage.car.pk}/advice": 10, "/api/v1/advice": 9}
    client = browser(people, "chief")

    def count(path: str) -> int:
        client.get(path)
        with CaptureQueriesContext(connection) as seen:
            client.get(path)
        return len([one for one in seen if "SAVEPOINT" not in one["sql"]])

    one = {path: count(path) for path in paths}
    for _ in range(2):
        row = left(people, garage)
        with viewing_as(people.crew.pk):
            reply_to_advice(by=people.crew, advice=row, text="We will.")
    for path, most in paths.items():
        assert count(path) == one[path] <= most, path


def test_the_action_refuses_a_figure_that_cannot_be(people: People, garage: Garage) -> None:
    with viewing_as(people.coach.pk):
        measure = Measure.objects.get(pk="ride-height")
        with pytest.raises(Invalid, match="40 in"):
            leave_advice(
                by=people.coach,
                car=garage.car,
                text=SAYS,
                measure=measure,
                spot="RF",
                wanted=typed(measure, "40 in"),
            )
