"""The laps of a run: typed, pasted or from a file, marked and never dropped."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from cars.models import Laps, Run
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from tests.cars.plans.evening import Evening
from tests.markup import one_line, plain
from tests.people import People

PASTED = "8.02 7.52 7.47 7.44 7,49 7.43 8.35 7.48\n7.41 7.45 7.46 0:07.46"


@pytest.fixture
def run(evening: Evening) -> Run:
    with viewing_as(evening.by.pk):
        return note_run(by=evening.by, car=evening.garage.car, facts=RunFacts())


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def standing(run: Run) -> Laps | None:
    with viewing_as(run.by_id):
        return Laps.objects.current().filter(run=run).first()


def test_pasted_laps_are_kept_and_those_that_are_none_marked(chief: Client, run: Run) -> None:
    sent = {"laps": PASTED, "timed_by": "transponder", "seen_laps": "none"}
    assert chief.post(f"/runs/{run.pk}/laps", sent)["Location"] == f"/runs/{run.pk}/"
    page = one_line(chief.get(f"/runs/{run.pk}/").content.decode())
    assert "12 laps, 10 counted" in page
    assert "median 7.46, best 7.41" in page
    laps = standing(run)
    assert laps
    assert laps.times[4] == Decimal("7.490")
    assert [place for place, mark in enumerate(laps.marks) if mark] == [0, 6]
    assert laps.typed == PASTED


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("7.41\nseven", "Row 2: seven is no lap time"),
        ("7.41 0", "no lap takes no time"),
        ("600", "no lap takes ten minutes"),
        ("7.41 " * 501, "These are 501 laps"),
        ("7.41 7.52 7.48 7.41 7.52 7.48", "are laps 1 to 3 again"),
    ],
)
def test_what_is_none_is_said_nothing_is_kept_and_what_was_typed_stays(
    chief: Client, run: Run, text: str, says: str
) -> None:
    sent = {"laps": text, "timed_by": "transponder", "seen_laps": "none"}
    refused = chief.post(f"/runs/{run.pk}/laps", sent)
    assert refused.status_code == 400
    assert says in plain(refused.content.decode())
    assert text.strip() in refused.content.decode()
    assert standing(run) is None


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_laps_come_from_a_file(chief: Client, run: Run, encoding: str) -> None:
    file = SimpleUploadedFile("laps.txt", "1\t7.41\n2\t7.52\n".encode(encoding))
    sent = {"laps": "", "file": file, "timed_by": "transponder", "seen_laps": "none"}
    assert chief.post(f"/runs/{run.pk}/laps", sent).status_code == 302
    laps = standing(run)
    assert laps
    assert laps.times == [Decimal("7.410"), Decimal("7.520")]


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"\x80\x81", "not a text file"), (b"7.41 " * 30_000, "too large"), (b"a,b", "no lap time")],
)
def test_a_file_of_something_else_is_refused_beside_its_box(
    chief: Client, run: Run, content: bytes, says: str
) -> None:
    file = SimpleUploadedFile("laps.txt", content)
    sent = {"laps": "", "file": file, "timed_by": "transponder", "seen_laps": "none"}
    refused = chief.post(f"/runs/{run.pk}/laps", sent)
    assert refused.status_code == 400
    assert says in refused.content.decode()
    assert standing(run) is None


def test_which_laps_count_is_chosen_by_hand(chief: Client, run: Run) -> None:
    sent = {"laps": "7.41 7.52 7.48", "timed_by": "hand", "seen_laps": "none"}
    chief.post(f"/runs/{run.pk}/laps", sent)
    first = standing(run)
    assert first
    counted = {"seen_laps": str(first.pk), "mark": ["", "traffic", ""]}
    chief.post(f"/runs/{run.pk}/laps/counted", counted)
    laps = standing(run)
    assert laps
    assert (laps.marks, laps.timed_by) == (["", "traffic", ""], "hand")
    # Another phone saw the laps before; it is told, and nothing is lost.
    late = chief.post(f"/runs/{run.pk}/laps/counted", counted, follow=True)
    assert "noted this run since you looked" in late.content.decode()
    short = chief.post(f"/runs/{run.pk}/laps/counted", {"seen_laps": str(laps.pk), "mark": [""]})
    assert short.status_code == 400


def test_an_empty_box_takes_the_laps_away_and_they_stay_in_the_record(
    chief: Client, run: Run
) -> None:
    chief.post(f"/runs/{run.pk}/laps", {"laps": "7.41", "timed_by": "hand", "seen_laps": "none"})
    first = standing(run)
    assert first
    seen = {"laps": " ", "timed_by": "hand", "seen_laps": str(first.pk)}
    chief.post(f"/runs/{run.pk}/laps", seen)
    assert standing(run) is None
    with viewing_as(run.by_id):
        assert Laps.objects.count() == 1


def test_only_who_writes_runs_writes_laps(client: Client, run: Run, people: People) -> None:
    for person, status in (
        *((people.guest, 403), (people.coach, 403), (people.official, 404), (people.rival, 404)),
        (people.stranger, 404),
    ):
        client.force_login(person)
        assert client.get(f"/runs/{run.pk}/laps").status_code == status
        assert client.post(f"/runs/{run.pk}/laps", {"laps": "7.41"}).status_code == status
        assert client.post(f"/runs/{run.pk}/laps/counted", {"mark": [""]}).status_code == status


def times_of(middle: str, scatter: str) -> list[Decimal]:
    """Eight laps about a middle."""
    off = ("1", "-1", "0.5", "-0.5", "0", "0.8", "-0.8", "0.2")
    return [Decimal(middle) + Decimal(scatter) * Decimal(each) for each in off]


def test_laps_are_marked_by_how_the_driver_usually_scatters(
    chief: Client, evening: Evening, people: People
) -> None:
    """8.6 s stands out for a steady driver, and does not for one whose laps scatter by half a
    second; of a driver without a record the run itself says."""
    pasted = "7.50 7.55 7.46 8.10 7.52 7.49 7.44 7.51"
    says, marked = {}, {}
    for name, scatter in (("Steady", "0.03"), ("Wild", "0.6"), ("New", "")):
        with viewing_as(people.chief.pk):
            driver = add_driver(by=people.chief, team=people.team, display_name=name)
            facts = RunFacts(driver=driver)
            for middle in ("7.5", "7.6", "7.4") if scatter else ():
                laps = TimedLaps(times_of(middle, scatter), [""] * 8, "transponder")
                note_run(by=people.chief, car=evening.garage.car, facts=facts, laps=laps)
            run = note_run(by=people.chief, car=evening.garage.car, facts=facts)
        sent = {"laps": pasted, "timed_by": "transponder", "seen_laps": "none"}
        chief.post(f"/runs/{run.pk}/laps", sent)
        says[name] = one_line(chief.get(f"/runs/{run.pk}/").content.decode())
        laps_now = standing(run)
        assert laps_now is not None
        marked[name] = [place for place, mark in enumerate(laps_now.marks) if mark]
    assert marked == {"Steady": [3], "Wild": [], "New": [3]}
    assert "8 laps, 7 counted. Marked by how this driver's laps usually scatter here: 0.0" in (
        says["Steady"].replace("&#x27;", "'")
    )
    assert "from 3 runs before and this one." in says["Steady"]
    assert "8 laps, 8 counted." in says["Wild"]
    assert "usually scatter" not in says["New"]


def test_by_hand_the_middle_is_told_with_what_the_presses_leave_open(
    chief: Client, run: Run
) -> None:
    """Five laps in a row: 1.96 sqrt(2 (0.15^2 / 3)) / 5 = 0.048 s, rounded up."""
    path = f"/runs/{run.pk}/laps"
    pasted = "7.41 7.52 7.48 7.44 7.45"
    chief.post(path, {"laps": pasted, "timed_by": "hand", "seen_laps": "none"})
    page = one_line(chief.get(f"/runs/{run.pk}/").content.decode())
    assert "middle 7.46 ± 0.05 s by hand" in page
    stood = standing(run)
    assert stood is not None
    sent = {"laps": pasted, "timed_by": "transponder", "seen_laps": str(stood.pk)}
    chief.post(path, sent)
    assert "by hand" not in chief.get(f"/runs/{run.pk}/").content.decode().split("h-laps")[2]
