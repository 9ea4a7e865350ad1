"""The phone handed to the driver: five questions in pictures, and nothing else until the code."""

import re
import time
from types import SimpleNamespace

import pytest
from allauth.core.internal import ratelimit
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.models import Feel, Run
from cars.runs.actions.runs import FeelSaid, RunFacts, note_run, strike_run
from clubsetup.access.handed_over import MOST_WRONG
from clubsetup.access.models import SignIn, TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.presenters.trail import team_trail
from tests.cars.plans.evening import Evening
from tests.markup import one_line
from tests.people import People

CODE = "2749"
PASSWORD = "correct horse 9"


@pytest.fixture
def run(evening: Evening, people: People) -> Run:
    """What the crew noted for a driver who has said something already."""
    with viewing_as(people.crew.pk):
        driver = add_driver(by=people.crew, team=people.team, display_name="Pip")
        facts = RunFacts(driver=driver, note="Quick in the middle.", finish=3, kind="heat")
        said = FeelSaid(entry="loose", steering="light")
        return note_run(by=people.crew, car=evening.garage.car, facts=facts, said=said)


def hand_over(run: Run, client: Client, code: str = CODE) -> Client:
    client.get("/")
    told = client.post(f"/runs/{run.pk}/hand-over", {"code": code})
    assert told.headers.get("Location") == "/handed-over", told.content.decode()
    return client


@pytest.fixture
def phone(run: Run, people: People) -> Client:
    client = Client()
    client.force_login(people.crew)
    return hand_over(run, client)


def standing(run: Run, by: str = Feel.SaidBy.DRIVER) -> Feel:
    with viewing_as(run.by_id):
        return Feel.objects.current().get(run=run, said_by=by)


def opened(client: Client) -> bool:
    """The browser gets what it asks for."""
    return client.get("/cars/").status_code == 200


def test_the_page_holds_the_pictures_and_nothing_of_anybody(
    phone: Client, run: Run, people: People
) -> None:
    for _ in range(2):  # after a reload too
        page = one_line(phone.get("/handed-over").content.decode())
        assert page.count("<svg") == 3 * 3 + 4 + 3
        assert page.count("I don't know") == 5
        # What was noted before is not shown to whoever answers now.
        assert "checked" not in page
    for path in ("/handed-over", "/handed-over/back"):
        page = one_line(phone.get(path).content.decode())
        text = re.sub(r"<[^>]*>", " ", page[page.index("<body") :])
        text = re.sub(r"\s+", " ", text)
        for word in ("Pip", "Crew", "Wrens", people.crew.email, "Quick", "Menu", "Home"):
            assert word not in text
        assert not re.search(r"\d", text)
        ways = set(re.findall(r'(?:href|action)="(/(?!static)[^"]*)"', page))
        assert ways <= {"/handed-over", "/handed-over/back"}
        assert str(run.pk) not in page


def test_what_the_driver_answers_stands_as_the_drivers(
    phone: Client, run: Run, people: People
) -> None:
    told = phone.post("/handed-over", {"middle": "pushes", "hands": "straight", "steering": ""})
    assert told.headers["Location"] == "/handed-over/back"
    page = phone.get("/handed-over/back").content.decode()
    assert "Thank you. Give the phone back." in page
    feel = standing(run)
    assert (feel.entry, feel.middle, feel.exit) == ("loose", "pushes", "")
    # Left out: as it was noted for the driver; not known: not said.
    assert (feel.hands, feel.steering, feel.by) == ("straight", "", people.crew)
    with viewing_as(people.chief.pk):
        assert Feel.objects.filter(run=run).count() == 2
        lines = {(line.what, line.detail) for line in team_trail(people.team).lines}
    alone = "said by the driver, to whom the phone was handed"
    assert ("noted how a run felt", alone) in lines
    assert ("handed the phone to the driver after a run", "") in lines
    # Once more, and nothing at all.
    assert phone.post("/handed-over", {}).status_code == 302
    assert standing(run) == feel


def test_an_answer_that_is_none_is_refused_there(phone: Client, run: Run) -> None:
    answer = phone.post("/handed-over", {"middle": "flies", "entry": "turns"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "Choose one of the pictures" in page
    assert re.search(r'name="entry"\s+value="turns"\s+checked', page)
    assert standing(run).entry == "loose"


def test_the_code_opens_it_where_the_run_is(phone: Client, run: Run, people: People) -> None:
    assert not opened(phone)
    told = phone.post("/handed-over/back", {"code": CODE})
    assert told.headers["Location"] == f"/runs/{run.pk}/"
    assert opened(phone)
    for path in ("/handed-over", "/handed-over/back"):
        assert phone.get(path).headers["Location"] == "/"
        assert phone.post(path, {"code": CODE, "entry": "turns"}).headers["Location"] == "/"
    with viewing_as(people.crew.pk):
        row = SignIn.objects.get(user=people.crew)
        did = TrailLine.objects.filter(on_id=row.pk).order_by("pk").values_list("did", flat=True)
        assert list(did) == ["handed_over", "gave_back"]
    assert (row.handed_over_at, row.handed_over_code) == (None, "")


def test_five_wrong_codes_ask_for_the_password(phone: Client, people: People, run: Run) -> None:
    wrong = ["2740", "", "27490", "abcd", "0000", "2741", "2742"]
    for code in wrong:
        answer = phone.post("/handed-over/back", {"code": code})
        assert answer.status_code == 400
        assert 'name="code"' in answer.content.decode() or code == wrong[-1]
    # Of these five were codes; a box left empty and one too long are told so, and count for none.
    page = one_line(phone.get("/handed-over/back").content.decode())
    assert "Five codes were wrong." in page
    assert 'name="code"' not in page
    assert 'type="password"' in page
    ways = set(re.findall(r'(?:href|action)="(/(?!static)[^"]*)"', page))
    assert ways == {"/accounts/logout/"}
    # The right one comes too late, and the pictures stay.
    assert phone.post("/handed-over/back", {"code": CODE}).status_code == 400
    assert phone.get("/handed-over").status_code == 200
    assert phone.post("/handed-over/back", {"password": "wrong horse 9"}).status_code == 400
    assert not opened(phone)
    told = phone.post("/handed-over/back", {"password": PASSWORD})
    assert told.headers["Location"] == f"/runs/{run.pk}/"
    assert opened(phone)


def test_wrong_passwords_are_counted_as_at_the_sign_in(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(MOST_WRONG):
        phone.post("/handed-over/back", {"code": "0000"})
    for _ in range(5):
        assert phone.post("/handed-over/back", {"password": "wrong horse 9"}).status_code == 400
    # Now the right one waits too, and the page says how long.
    wait = "Too many wrong tries. Try again in 5 minutes."
    answer = phone.post("/handed-over/back", {"password": PASSWORD})
    assert answer.status_code == 429
    assert wait in answer.content.decode()
    assert not opened(phone)
    again = phone.get("/handed-over/back")
    assert again.status_code == 200
    assert wait in again.content.decode()
    later = ratelimit.time.time() + 3 * 60 + 1
    monkeypatch.setattr(ratelimit, "time", SimpleNamespace(**{**vars(time), "time": lambda: later}))
    assert "Try again in 2 minutes." in phone.get("/handed-over/back").content.decode()
    later += 60
    assert "Try again in 1 minute." in phone.get("/handed-over/back").content.decode()
    later += 60
    assert "Try again" not in phone.get("/handed-over/back").content.decode()
    assert phone.post("/handed-over/back", {"password": PASSWORD}).status_code == 302
    assert opened(phone)


def test_wrong_codes_are_counted_by_the_server(phone: Client, people: People) -> None:
    """Whoever sets the cookies back, or types in two tabs at once, has no more tries."""
    for _ in range(MOST_WRONG - 1):
        tab = Client()
        tab.cookies["sessionid"] = phone.cookies["sessionid"].value
        assert tab.post("/handed-over/back", {"code": "0000"}).status_code == 400
    with CaptureQueriesContext(
        connection,
    ) as said:
        phone.post("/handed-over/back", {"code": "0000"})
    assert any("access_signin" in q["sql"] and "FOR UPDATE" in q["sql"] for q in said)
    assert phone.post("/handed-over/back", {"code": CODE}).status_code == 400
    assert not opened(phone)


def test_what_is_kept_of_the_code_is_not_the_code(phone: Client, run: Run, people: People) -> None:
    other = Client()
    other.force_login(people.crew)
    hand_over(run, other)
    with viewing_as(people.crew.pk):
        kept = {row.handed_over_code for row in SignIn.objects.filter(user=people.crew)}
        trail = str(list(TrailLine.objects.values_list("detail", flat=True)))
    # The same code twice, told apart by nobody.
    assert len(kept) == 2
    assert all(len(code) == 64 and CODE not in code[:4] for code in kept)
    assert CODE not in trail


@pytest.mark.parametrize(
    "code", ["", "274", "27490", "27a9", "٢٧٤٩", "1111", "1234", "9876", "8901"]
)
def test_a_code_that_is_none_or_too_easy_is_refused(
    client: Client, run: Run, people: People, code: str
) -> None:
    client.force_login(people.crew)
    client.get("/")
    answer = client.post(f"/runs/{run.pk}/hand-over", {"code": code})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'aria-invalid="true"' in page
    assert f'value="{code}"' in page or not code
    assert opened(client)


def test_another_browser_of_the_same_person_is_not_handed_over(
    phone: Client, people: People
) -> None:
    other = Client()
    other.force_login(people.crew)
    assert opened(other)
    assert not opened(phone)


def test_a_session_that_another_request_writes_back_stays_handed_over(
    phone: Client, people: People
) -> None:
    """One that was under way when the phone was handed over, with the session as it was before."""
    session = phone.session
    session.clear()
    session.update({k: v for k, v in phone.session.items() if k.startswith("_auth")})
    session.save()
    assert not opened(phone)


def test_signing_out_ends_the_session_and_shows_nothing(phone: Client, people: People) -> None:
    assert phone.get("/accounts/logout/").headers["Location"] == "/handed-over"
    told = phone.post("/accounts/logout/")
    assert told.headers["Location"].startswith("/accounts/login/")
    assert phone.get("/handed-over").headers["Location"].startswith("/accounts/login/")
    assert phone.get("/cars/").headers["Location"].startswith("/accounts/login/")
    with viewing_as(people.crew.pk):
        assert not SignIn.objects.filter(user=people.crew, handed_over_at__isnull=False).exists()


def test_a_run_that_is_struck_meanwhile_takes_no_answer(
    phone: Client, run: Run, people: People
) -> None:
    with viewing_as(people.chief.pk):
        strike_run(by=people.chief, run=run, reason="Noted twice.")
    assert phone.post("/handed-over", {"entry": "turns"}).headers["Location"] == "/handed-over/back"
    page = phone.get("/handed-over/back").content.decode()
    assert "Back to the pictures" not in page
    assert standing(run).entry == "loose"
    told = phone.post("/handed-over/back", {"code": CODE})
    assert told.headers["Location"] == "/"
    answer = phone.get(f"/runs/{run.pk}/hand-over")
    assert answer.status_code == 409


def test_a_new_run_is_saved_and_handed_over_in_one(
    client: Client, evening: Evening, people: People
) -> None:
    client.force_login(people.chief)
    car = evening.garage.car.pk
    page = client.get(f"/cars/{car}/track").content.decode()
    assert "Save and hand the phone to the driver" in one_line(page)
    found = re.search(r'name="row_id" value="([^"]+)"', page)
    assert found is not None
    sent = {"row_id": found[1], "kind": "practice", "surface": "paved", "then": "hand-over"}
    told = client.post(f"/cars/{car}/track", sent)
    assert told.headers["Location"] == f"/runs/{found[1]}/hand-over"
    assert client.get(told.headers["Location"]).status_code == 200
