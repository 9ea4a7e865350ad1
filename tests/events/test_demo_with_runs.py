"""The demo with its seasons at the track, loaded whole into a database of its own."""

import html
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

import pytest
from django.conf import settings
from django.db import connections
from django.test import Client
from pytest_django.plugin import DjangoDbBlocker
from scipy.stats import binom

from cars.models import Car, Feel, Laps, Run, RunDetails, TrackChange, TrackReading
from cars.runs.queries.helped import MOST_COMPARED, compare
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import signing_in, viewing_as
from clubsetup.runtime.embedded import Embedded
from events.demo.driving import Driving
from events.demo.track_days import DemoDay
from events.demo.truth import TrueCar
from events.models import EntryRun
from tests.events.driven_trials import ENOUGH, Tried, demo_truth
from tests.markup import one_line
from tests.migrated import DEMO_WITH_RUNS, MIGRATED, copy_demo, point_connections_at

CAR = "31"


@dataclass
class Loaded:
    """The demo's first car with its days, and people who look at it."""

    truth: TrueCar
    days: list[DemoDay]
    car: Car
    chief: User
    official: User
    # The ids of the car's runs, in the order driven, as the days have them.
    runs: list[UUID]

    def browser(self, who: User) -> Client:
        client = Client()
        client.force_login(who)
        return client

    def page(self, path: str) -> str:
        answer = self.browser(self.chief).get(path)
        assert answer.status_code == 200, path
        return one_line(answer.content.decode())


@pytest.fixture(scope="module")
def demo(
    django_db_setup: None, embedded: Embedded, django_db_blocker: DjangoDbBlocker
) -> Iterator[Loaded]:
    """The connections lead there until the module is done."""
    data = Path(settings.DATA_DIR) / DEMO_WITH_RUNS
    copy_demo(data, DEMO_WITH_RUNS)
    server = Embedded(data / "database")
    Path(settings.STATIC_ROOT).mkdir(exist_ok=True)
    with django_db_blocker.unblock():
        try:
            server.prepare(MIGRATED)
            point_connections_at(server.url(MIGRATED))
            yield _loaded()
        finally:
            connections.close_all()
            server.stop()
            shutil.rmtree(data, ignore_errors=True)
            point_connections_at(embedded.url("tests"))


def _loaded() -> Loaded:
    truth = demo_truth()
    car = truth.cars[CAR]
    chief, official = _person("isa"), _person("ossian")
    with viewing_as(chief.pk):
        row = Car.objects.select_related("team__club", "chassis").get(
            number=CAR, team__name="Wrenfield"
        )
        runs = list(Run.objects.filter(car=row).order_by("ran_at").values_list("pk", flat=True))
    return Loaded(car, list(Driving(truth, car).seasons()), row, chief, official, runs)


def _person(key: str) -> User:
    email = f"{key}@alder-hollow.example"
    pk = User.objects.using("owner").get(email=email).pk
    with signing_in(person=pk):
        return User.objects.get(pk=pk)


def test_every_run_is_written_as_the_actions_write_it(demo: Loaded) -> None:
    """One row of facts each, the laps as drawn, and a line in the trail for every write."""
    drawn = [run for day in demo.days for run in day.runs]
    assert len(demo.runs) == len(drawn)
    with viewing_as(demo.chief.pk):
        rows = Run.objects.filter(pk__in=demo.runs)
        assert RunDetails.objects.current().filter(run__in=rows).count() == len(drawn)
        laps = dict(Laps.objects.filter(run__in=rows).values_list("run", "times"))
        assert Feel.objects.filter(run__in=rows, said_by="driver").count() == sum(
            bool(run.said) for run in drawn
        )
        noted = TrailLine.objects.filter(team_id=demo.car.team_id, on_kind="cars.run", did="noted")
        assert noted.filter(on_id__in=demo.runs).count() == len(drawn)
        turned = TrackChange.objects.filter(sheet__car=demo.car)
        assert turned.count() == sum(len(day.turned) for day in demo.days)
        lines = TrailLine.objects.filter(
            team_id=demo.car.team_id, did__in=["changed_at_track", "put_back"]
        )
        assert lines.filter(on_id__in=turned.values("sheet")).count() == turned.count()
    written = [[float(each) for each in laps.get(pk, [])] for pk in demo.runs]
    assert written == [run.seconds for run in drawn]


def test_a_run_keeps_the_changes_that_stood_when_it_went_out(demo: Loaded) -> None:
    with viewing_as(demo.chief.pk):
        states = dict(Run.objects.filter(pk__in=demo.runs).values_list("pk", "car_state"))
        assert Run.objects.filter(pk__in=demo.runs, sheet__role="set").count() == len(demo.runs)
    each = iter(demo.runs)
    for day in demo.days:
        for run in day.runs:
            state = states[next(each)]
            assert state["figures"]
            if day.trial is not None:
                stood = {(kept["adjuster"], kept["spot"]) for kept in state["changes"]}
                assert (day.trial.place in stood) is (run.group == "B"), (day.ago, run.order)


def test_did_it_help_says_of_the_seasons_what_is_true_of_them(demo: Loaded) -> None:
    """Over all days on which each change was tried, by the query behind page and API."""
    tried = []
    with viewing_as(demo.chief.pk):
        for effect in demo.truth.effects:
            each = iter(demo.runs)
            groups: dict[str, list[UUID]] = {"A": [], "B": []}
            for day in demo.days:
                for run in day.runs:
                    pk = next(each)
                    if day.trial is effect and run.seconds:
                        groups[run.group].append(pk)
            before, after = groups["A"][-MOST_COMPARED:], groups["B"][-MOST_COMPARED:]
            if min(len(before), len(after)) >= ENOUGH:
                said = compare(demo.car, before, after).help
                tried.append(Tried(CAR, effect, len(before), len(after), said))
    told = "\n".join(map(str, tried))
    assert len(tried) >= 9, told
    assert sum(one.covers for one in tried) >= binom.ppf(1e-3, len(tried), 0.95), told
    assert not any(one.is_contrary for one in tried), told


def test_tonight_is_compared_on_the_page_at_the_track(demo: Loaded) -> None:
    page = demo.page(f"/cars/{demo.car.pk}/track")
    assert "Save run 5" in page
    assert "Changed, run 3 to 4" in page
    assert "RR" in page
    (asked,) = re.findall('hx-get="([^"]+did-it-help[^"]+)"', page)
    told = demo.page(html.unescape(asked))
    assert re.search("faster|slower|cannot tell|no difference worth having", told)


def test_the_hit_says_what_to_check_and_the_car_was_weighed_again(demo: Loaded) -> None:
    with viewing_as(demo.chief.pk):
        hit = RunDetails.objects.current().get(run__car=demo.car, damage="hit the wall").run
        after = Run.objects.filter(car=demo.car, ran_at__gt=hit.ran_at).order_by("ran_at")[0]
        read = TrackReading.objects.filter(
            sheet=hit.sheet, taken_at__range=(hit.ran_at, after.ran_at)
        )
        assert read.count() == 8
    assert "Hit the wall, RF. Check before the next run:" in demo.page(f"/runs/{hit.pk}/")
    was, now = (run.car_state["figures"]["ride-height.RF"] for run in (hit, after))
    assert now < was


def test_races_are_of_the_entries_of_their_events(demo: Loaded) -> None:
    with viewing_as(demo.chief.pk):
        ties = EntryRun.objects.current().filter(run__in=demo.runs).select_related("entry__event")
        events = {tie.entry.event.name for tie in ties}
        main = next(tie.run_id for tie in ties if tie.entry.event.name == "Ember Oval")
    assert events == {"Ember Oval", "Opening Night", "Lantern Night"}
    answer = demo.browser(demo.chief).get(f"/api/v1/runs/{main}").json()
    assert "Ember Oval" in str(answer["entry"])


def test_the_list_of_runs_goes_back_to_the_first(demo: Loaded) -> None:
    """Of the team's other car, which has fewer."""
    with viewing_as(demo.chief.pk):
        other = Car.objects.get(team=demo.car.team_id, number="13")
        runs = {str(pk) for pk in Run.objects.filter(car=other).values_list("pk", flat=True)}
    path, pages = f"/cars/{other.pk}/runs", 0
    seen: list[str] = []
    while path:
        page = demo.page(path)
        seen += re.findall(r'href="/runs/([0-9a-f-]{36})/"', page)
        older = re.search(r'href="(\?[^"]*before=[^"]+)"', page)
        path = f"/cars/{other.pk}/runs{older[1]}" if older else ""
        pages += 1
    assert len(runs) > 100
    assert sorted(seen) == sorted(runs)
    assert pages == -(-len(runs) // 20)


def test_an_official_sees_none_of_it(demo: Loaded) -> None:
    client = demo.browser(demo.official)
    assert client.get(f"/runs/{demo.runs[0]}/").status_code == 404
    assert client.get("/api/v1/runs").json()["results"] == []
