"""What to try: the page and the API, who sees it, and what comes of accepting one."""

import re
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.models import Run, TrackChange
from cars.runs.actions.runs import FeelSaid
from cars.runs.actions.track_changes import put_back
from cars.runs.queries.what_to_try import what_to_try
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from teams.actions.drivers import add_driver
from teams.models import Driver
from tests.cars.plans.evening import Evening
from tests.cars.runs.trying import held_to, made, published_table, ran, suggested
from tests.markup import one_line
from tests.people import People

LOOSE = FeelSaid(entry="turns", middle="turns", exit="loose", hands="straight", steering="good")
SEAT, TIGHTER = "spring-seat RF 0.5 turn", "spring-seat LR 0.25 turn"
CORNERS = ("LF", "RF", "LR", "RR")
TYRES = {f"pressure.{corner}": "12" for corner in CORNERS}


@pytest.fixture
def driver(evening: Evening, people: People) -> Driver:
    with viewing_as(evening.by.pk):
        return add_driver(by=people.chief, team=people.team, display_name="Pip")


@pytest.fixture
def tried(evening: Evening, people: People, driver: Driver) -> Evening:
    """A table of three, and a run that was loose at exit."""
    published_table(
        people.steward,
        people,
        [
            suggested(SEAT, why="Cross goes up.", caution="Weight off the seat first."),
            suggested("pressure LR -1 psi", minutes=2, why="More grip."),
            suggested("damper LR 1 click", place="entry", balance="pushes", why="Later."),
        ],
    )
    with viewing_as(evening.by.pk):
        evening.take(TYRES)
        ran(evening.by, evening.garage, 1, said=LOOSE, driver=driver)
    return evening


def address(evening: Evening) -> str:
    return f"/cars/{evening.garage.car.pk}/what-to-try"


def page_of(client: Client, evening: Evening, asked: str = "") -> str:
    answer = client.get(address(evening) + asked)
    assert answer.status_code == 200
    return one_line(answer.content.decode())


def text_of(page: str) -> str:
    """What stands on a page, without its tags."""
    words = re.sub(r"<[^>]*>", "", unescape(page))
    return re.sub(r" ([.,:])", r"\1", " ".join(words.split()))


def api(client: Client, evening: Evening, **asked: str) -> dict[str, Any]:
    answer = client.get(f"/api/v1{address(evening)}", asked)
    assert answer.status_code == 200, answer.content
    return dict(answer.json())


def order(answer: dict[str, Any]) -> list[str]:
    return [f"{one['adjuster']} {one['spot']}" for one in answer["suggestions"]]


def as_(client: Client, person: User) -> Client:
    client.force_login(person)
    return client


def test_it_answers_in_this_cars_figures(client: Client, tried: Evening, people: People) -> None:
    page = text_of(page_of(as_(client, people.chief), tried))
    assert "Turns at entry, turns in the middle, is loose at exit; hands straight" in page
    assert re.search(
        r"RF seat 1/2 turn down on the spring: cross 52\.1% to 52\.\d% \(± 0\.\d%\), "
        r"RF weight 68\.5 lb to 69\.2 lb \(± 1\.\d lb\), 3 minutes",
        page,
    )
    assert "LR pressure 1 psi let down: LR cold pressure 12 psi to 11 psi, 2 minutes" in page
    assert "Cross 52.1%: what would change it" in page
    assert "First what the team's own runs at this feel showed faster" in page
    assert "No published rules are known" in page
    assert "Later." not in page
    assert "Weight off the seat first." in page


def test_the_api_says_the_same_in_figures(client: Client, tried: Evening, people: People) -> None:
    answer = api(as_(client, people.chief), tried)
    # Of one table the quickest first.
    assert order(answer) == ["pressure LR", "spring-seat RF"]
    pressure, seat = answer["suggestions"]
    boxes = {one["box"]: one for one in seat["moved"]}
    assert float(boxes["cross.car"]["quantity"]["value"]) > 52.1
    assert boxes["cross.car"]["u"] > "0"
    assert set(pressure["read_again"]) >= {"weight", "ride-height", "cross"}
    assert answer["felt"]["exit"] == "loose"
    assert answer["felt"]["surface"] == "paved"
    assert answer["has_rules"] is False
    assert seat["legal"] == ""
    assert seat["tried"]["count"] == 0


def test_another_feel_is_asked_for(client: Client, tried: Evening, people: People) -> None:
    chief = as_(client, people.chief)
    page = page_of(chief, tried, "?entry=pushes&middle=&exit=&hands=&steering=")
    assert "Pushes at entry" in page
    assert "Later." in page
    assert re.search(r'name="entry"\s+value="pushes"\s+checked', page)
    assert order(api(chief, tried, entry="pushes")) == ["damper LR"]
    nothing = text_of(page_of(chief, tried, "?entry=&middle=&exit=&hands=&steering="))
    assert "That comes first" in nothing
    assert '<details class="felt" open' in page_of(chief, tried, "?entry=")
    assert "says anything for this feel" in page_of(chief, tried, "?steering=heavy")
    assert chief.get(f"{address(tried)}?entry=flies").status_code == 400
    assert chief.get(f"/api/v1{address(tried)}", {"entry": "flies"}).status_code == 400


def test_accepting_one_notes_it_once_as_at_the_track(
    client: Client, tried: Evening, people: People
) -> None:
    chief = as_(client, people.chief)
    page = page_of(chief, tried)
    form = re.search(r'data-outbox="RF seat.*?</form>', page)
    assert form
    sent = dict(re.findall(r'name="(\w+)"\s+value="([^"]*)"', form[0]))
    del sent["csrfmiddlewaretoken"]
    assert chief.post(address(tried), sent)["Location"] == f"/cars/{tried.garage.car.pk}/track"
    assert chief.post(address(tried), sent).status_code == 302
    with viewing_as(people.chief.pk):
        (change,) = TrackChange.objects.all()
    assert (change.adjuster, change.spot, str(change.amount)) == ("spring-seat", "RF", "0.5000")
    assert "spring seat RF +1/2 turn" in text_of(
        one_line(chief.get(f"/cars/{tried.garage.car.pk}/track").content.decode())
    )
    # On top of it the next one starts from what is expected now.
    seat = api(chief, tried)["suggestions"][1]
    was = next(one["was"] for one in seat["moved"] if one["box"] == "cross.car")
    assert float(was["value"]) > 52.2
    refused = chief.post(address(tried), {**sent, "row_id": str(new_id()), "amount": "0"})
    assert refused.status_code == 400
    assert "A change of nothing is no change" in refused.content.decode()


def test_who_sees_it_and_who_accepts(client: Client, tried: Evening, people: People) -> None:
    sent = {"adjuster": "pressure", "spot": "LR", "amount": "-1", "unit": "psi"}
    for person, seen, accepted in (
        *((people.chief, 200, 302), (people.crew, 200, 302)),
        *((people.guest, 200, 403), (people.coach, 200, 403)),
        *((people.official, 404, 404), (people.steward, 404, 404), (people.rival, 404, 404)),
        *((people.unlinked_coach, 404, 404), (people.stranger, 404, 404)),
    ):
        as_(client, person)
        assert client.get(address(tried)).status_code == seen, person
        assert client.get(f"/api/v1{address(tried)}").status_code == seen, person
        answer = client.post(address(tried), {**sent, "row_id": str(new_id())})
        assert answer.status_code == accepted, person
        if seen == 200:
            assert ("I did this" in page_of(client, tried)) == (accepted == 302)
            assert order(api(client, tried))


def test_a_limit_or_a_tolerance_that_would_be_left_strikes_it_out(
    client: Client, tried: Evening, people: People
) -> None:
    held_to(people, tried.garage.car, ("cross_limit", {"at_most": "53"}))
    published_table(
        people.chief,
        people,
        [suggested("spring-seat LR 3 turn"), suggested("spring-seat LF -0.25 turn", minutes=9)],
        team=people.team,
    )
    chief = as_(client, people.chief)
    answer = api(chief, tried)
    # Our own would stand first, were it not out.
    assert order(answer)[0] == "spring-seat LF"
    assert order(answer)[-1] == "spring-seat LR"
    last = answer["suggestions"][-1]
    assert last["is_out"]
    assert any("Cross at most 53%" in reason for reason in last["out"])
    assert any("over its tolerance" in reason for reason in last["out"])
    assert {one["rule"] for one in last["rules"]} == {"Cross at most 53% of the weight"}
    page = text_of(page_of(chief, tried))
    assert "Out: Cross at most 53% of the weight: " in page
    assert "legal" in page
    assert 'data-outbox="LR seat' not in page_of(chief, tried)


def test_entry_and_exit_that_pull_are_said_with_what_acts_on_one_alone(
    client: Client, tried: Evening, people: People
) -> None:
    published_table(
        people.chief,
        people,
        [
            suggested("spring-seat LR 0.5 turn", place="", balance="loose"),
            suggested("spring-seat LR -0.5 turn", place="", balance="pushes"),
        ],
        team=people.team,
    )
    chief = as_(client, people.chief)
    page = text_of(page_of(chief, tried, "?entry=pushes&exit=loose"))
    assert "It pushes at entry and is loose at exit: these pull against each other" in page
    assert "At entry alone: LR damper 1 click stiffer." in page
    assert "What is suggested both ways stands after what is not." in page
    answer = api(chief, tried, entry="pushes", exit="loose")
    assert answer["pull"] == {"places": ["entry", "exit"], "balances": ["pushes", "loose"]}
    assert [one["is_opposed"] for one in answer["suggestions"]] == [
        *(False, False, False),
        *(True, True),
    ]
    assert api(chief, tried, exit="loose")["pull"] is None


def evening_of(tried: Evening, driver: Driver, *middles: str) -> list[Run]:
    """As it was, with the seat turned, as it was, and so on; it begins as it was."""
    runs = []
    for place, middle in enumerate(middles):
        if place:
            if place % 2:
                made(tried.by, tried.sheet, SEAT)
            else:
                put_back(by=tried.by, sheet=tried.sheet)
        ago = 60 - 2 * place
        runs.append(ran(tried.by, tried.garage, ago, middle, LOOSE, driver=driver))
    return runs


def test_what_the_team_tried_at_this_feel_is_counted(
    client: Client, tried: Evening, people: People, driver: Driver
) -> None:
    with viewing_as(tried.by.pk):
        evening_of(tried, driver, "7.50", "7.00", "7.50")
    chief = as_(client, people.chief)
    answer = api(chief, tried)
    # The club's quickest stands after what was shown faster.
    assert order(answer) == ["spring-seat RF", "pressure LR"]
    assert answer["suggestions"][0]["tried"] == {
        **{"count": 1, "faster": 1, "slower": 0, "no_difference": 0, "cannot_tell": 0},
    }
    assert "Tried once at this feel on paved: faster once" in text_of(page_of(chief, tried))
    # At another feel it was not tried.
    published_table(
        people.chief,
        people,
        [suggested(SEAT, place="entry", balance="pushes")],
        team=people.team,
    )
    other = api(chief, tried, entry="pushes")["suggestions"]
    assert next(one for one in other if one["spot"] == "RF")["tried"]["count"] == 0
    # As nobody has forgotten, going back to what was slower comes before all.
    assert answer["go_back"] is None or answer["go_back"]["make_again"]


def test_one_pair_is_tried_and_cannot_tell(
    client: Client, tried: Evening, people: People, driver: Driver
) -> None:
    with viewing_as(tried.by.pk):
        evening_of(tried, driver, "7.50", "7.00")
    answer = api(as_(client, people.chief), tried)
    seat = next(one for one in answer["suggestions"] if one["spot"] == "RF")
    assert (seat["tried"]["count"], seat["tried"]["cannot_tell"]) == (1, 1)
    assert order(answer) == ["pressure LR", "spring-seat RF"]


def test_where_the_last_change_is_slower_going_back_comes_first(
    client: Client, tried: Evening, people: People, driver: Driver
) -> None:
    with viewing_as(tried.by.pk):
        evening_of(tried, driver, "7.00", "7.50", "7.00", "7.50")
        (standing,) = [each for each in TrackChange.objects.all() if not each.puts_back_id][-1:]
    chief = as_(client, people.chief)
    answer = api(chief, tried)
    assert answer["go_back"] == {"put_back": [str(standing.pk)], "make_again": []}
    assert answer["suggestions"][-1]["tried"]["slower"] == 1
    page = page_of(chief, tried)
    assert "Go back first" in page
    assert page.index("Go back first") < page.index('class="try"')
    chief.post(f"/cars/{tried.garage.car.pk}/track/put-back", {"change": str(standing.pk)})
    # It is done: nothing is first any more.
    assert api(chief, tried)["go_back"] is None
    with viewing_as(tried.by.pk):
        assert what_to_try(tried.garage.car, tried.by).now is not None


def test_what_was_put_back_and_was_faster_is_to_be_made_again(
    client: Client, tried: Evening, people: People, driver: Driver
) -> None:
    with viewing_as(tried.by.pk):
        evening_of(tried, driver, "7.50", "7.00", "7.50", "7.00", "7.50")
    chief = as_(client, people.chief)
    (again,) = api(chief, tried)["go_back"]["make_again"]
    assert (again["adjuster"], again["spot"], again["amount"]) == ("spring-seat", "RF", "0.5000")
    page = text_of(page_of(chief, tried))
    assert "Make again spring seat RF +1/2 turn" in page
    sent = {**again, "row_id": str(new_id())}
    assert chief.post(address(tried), sent).status_code == 302
    assert api(chief, tried)["go_back"] is None


def test_without_a_sheet_suggestions_stand_without_figures(
    client: Client, garage: Any, people: People
) -> None:
    published_table(people.steward, people, [suggested(SEAT)])
    with viewing_as(people.chief.pk):
        ran(people.chief, garage, 1, said=LOOSE)
    chief = as_(client, people.chief)
    page = chief.get(f"/cars/{garage.car.pk}/what-to-try")
    assert page.status_code == 200
    assert "No sheet says how this car was set." in page.content.decode()
    assert "I did this" not in page.content.decode()
    answer = chief.get(f"/api/v1/cars/{garage.car.pk}/what-to-try").json()
    assert answer["sheet"] is None
    assert answer["suggestions"][0]["moved"] == []


def test_as_many_queries_for_twenty_five_suggestions_as_for_one(
    client: Client, evening: Evening, people: People
) -> None:
    with viewing_as(evening.by.pk):
        evening.take(TYRES)
        ran(evening.by, evening.garage, 1, said=LOOSE)
    held_to(people, evening.garage.car, ("cross_limit", {"at_most": "60"}))
    texts = [
        *(f"spring-seat {corner} {way}0.5 turn" for corner in CORNERS for way in ("", "-")),
        *(f"pressure {corner} {way}1 psi" for corner in CORNERS for way in ("", "-")),
        *(f"damper {corner} {way}1 click" for corner in CORNERS for way in ("", "-")),
        "toe front 0.0625 in",
    ]
    feels = {"": {}, "-": {"place": "", "balance": "loose"}}
    rows = [suggested(text, **feels["-" if " -" in text else ""]) for text in texts]
    chief = as_(client, people.chief)
    counts = []
    for number, some in enumerate((rows[:1], rows), start=1):
        published_table(people.steward, people, some) if number == 1 else None
        if number == 2:
            published_table(people.chief, people, some, team=people.team)
        page_of(chief, evening)
        with CaptureQueriesContext(connection) as asked:
            page = page_of(chief, evening)
        counts.append((page.count("<summary>Why</summary>"), len(asked)))
    (one, few), (many, as_few) = counts
    assert (one, many) == (1, 25)
    assert as_few == few, counts


def test_the_track_the_runs_and_the_car_lead_there(
    client: Client, tried: Evening, people: People
) -> None:
    chief = as_(client, people.chief)
    car = tried.garage.car.pk
    with viewing_as(people.chief.pk):
        run = Run.objects.get()
    for place in (f"/cars/{car}/", f"/cars/{car}/track", f"/runs/{run.pk}/"):
        assert address(tried) in chief.get(place).content.decode(), place


def test_the_card_has_every_feel_of_the_surface_in_figures(tried: Evening, people: People) -> None:
    document = document_for("what-to-try")
    with viewing_as(people.guest.pk):
        html = document.html(tried.garage.car, people.guest)
    card = text_of(one_line(html))
    assert card.index("Pushes at entry") < card.index("Loose at exit")
    assert "RF seat 1/2 turn down on the spring cross 52.1% to" in card
    assert "LR damper 1 click stiffer 3 minutes" in card
    assert "As set 14 Mar 2026" in card
    assert "Every figure is a prediction" in card
    made_of = render(Source(html, document.styles))
    assert made_of.pages == 1
