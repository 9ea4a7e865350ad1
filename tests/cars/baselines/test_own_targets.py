"""A team's own targets: shown third, judged by only where it was chosen."""

from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, ProgrammingError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.baselines.actions.own_targets import drop_own_target, set_own_target
from cars.baselines.queries.own_targets import own_targets_for
from cars.bench.actions import start_bench
from cars.bench.presenters.bench_view import bench_view, whole_view
from cars.catalogue.keys import Key
from cars.figures.judgement import FigureOutcome
from cars.garage.actions.cars import add_car
from cars.lookups import find_sheet
from cars.models import Measure, OwnTarget, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.queries.targets import target_sources
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.markup import plain
from tests.people import People

HEIGHT = Key("ride-height", "LF")  # the maker says 2 1/4 ± 1/16
EVERYBODY = (
    *("chief", "crew", "guest", "coach", "unlinked_coach", "official", "steward"),
    *("other_official", "other_steward", "rival", "stranger"),
)
CREW = {"chief", "crew"}
READERS = {"chief", "crew", "guest", "coach"}


def want(
    people: People,
    garage: Garage,
    target: str = "2 1/2",
    *,
    by: User | None = None,
    box: Key = HEIGHT,
    surface: str = "",
    reason: str = "It pushes with less.",
) -> OwnTarget:
    by = by or people.crew
    with viewing_as(by.pk):
        measure = Measure.objects.get(pk=box.measure)
        return set_own_target(
            by=by,
            car=garage.car,
            measure=measure,
            spot=box.spot,
            target=typed(measure, target),
            tolerance=typed(measure, "0.5" if measure.kind == "pressure" else "1/16"),
            reason=reason,
            surface=surface,
        )


def bench(people: People, garage: Garage, *, own: bool) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = start_bench(by=people.crew, car=garage.car, role="found", surface="paved", own=own)
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2 1/2"})
    return sheet


def judged(people: People, sheet: Sheet, key: Key = HEIGHT) -> tuple[FigureOutcome, str]:
    with viewing_as(people.crew.pk):
        read = find_sheet(sheet.pk)
        assert read is not None
        box = whole_view(read, people.crew).boxes[key]
    return box.judgement.outcome, box.target


def test_a_bench_is_judged_by_own_targets_only_where_it_was_chosen(
    people: People, garage: Garage
) -> None:
    want(people, garage)
    of_the_baseline = bench(people, garage, own=False)
    assert judged(people, of_the_baseline) == (FigureOutcome.OFF, "2 1/4")
    with viewing_as(people.crew.pk):
        close_sheet(by=people.crew, sheet=of_the_baseline)
    own = bench(people, garage, own=True)
    # A tape of sixteenths cannot tell 1/16 from 1/32 off, but it can tell 2 1/2 from 2 1/4.
    assert judged(people, own) == (FigureOutcome.ON_TARGET, "2 1/2")
    # Where the team has none, the baseline stands.
    assert judged(people, own, Key("ride-height", "RF")) == (FigureOutcome.NOT_TAKEN, "2 3/8")


def test_a_step_of_the_bench_is_judged_alike(people: People, garage: Garage) -> None:
    want(people, garage)
    want(people, garage, "1 3/4", box=Key("stagger", "rear"))
    sheet = bench(people, garage, own=True)
    with viewing_as(people.crew.pk):
        for only_here in (True, False):
            seen = bench_view(sheet, people.crew, "ride-heights", only_here=only_here)
            assert seen.view.boxes[HEIGHT].judgement.outcome is FigureOutcome.ON_TARGET


def test_the_sheet_as_set_is_worked_towards_the_same(people: People, garage: Garage) -> None:
    want(people, garage)
    for own, outcome in ((True, FigureOutcome.ON_TARGET), (False, FigureOutcome.OFF)):
        found = bench(people, garage, own=own)
        with viewing_as(people.crew.pk):
            as_set = open_set_sheet(by=people.crew, sheet=close_sheet(by=people.crew, sheet=found))
        assert judged(people, as_set)[0] is outcome


def test_own_targets_are_offered_where_there_are_any(people: People, garage: Garage) -> None:
    def offered() -> list[str]:
        with viewing_as(people.crew.pk):
            return [choice.value for choice in target_sources(garage.car)]

    assert "own" not in offered()
    row = want(people, garage)
    assert offered()[0] == f"baseline:{garage.baseline.pk}"  # the maker and the club come first
    assert "own" in offered()
    with viewing_as(people.crew.pk):
        drop_own_target(by=people.crew, own_target=row)
    assert "own" not in offered()


def test_a_bench_is_worked_towards_one_thing(people: People, garage: Garage) -> None:
    with viewing_as(people.crew.pk):
        target = garage.sheet(people.crew, "target")
        given: dict[str, Any] = {"by": people.crew, "car": garage.car, "role": "found"}
        with pytest.raises(Invalid):
            start_bench(**given, own=True, target=target)


def test_a_newer_one_replaces_and_the_old_one_stays(people: People, garage: Garage) -> None:
    old = want(people, garage)
    new = want(people, garage, "2 5/8", by=people.chief, reason="More still.")
    with viewing_as(people.crew.pk):
        old.refresh_from_db()
        assert (old.version, new.version) == (1, 2)
        assert old.replaced_by == people.chief
        assert OwnTarget.objects.current().get() == new
        drop_own_target(by=people.crew, own_target=new)
        with pytest.raises(WrongState):
            drop_own_target(by=people.crew, own_target=new)
        assert OwnTarget.objects.count() == 2
    assert want(people, garage, "2 7/8").version == 3


def test_one_for_this_surface_goes_before_one_for_both(people: People, garage: Garage) -> None:
    dirt = want(people, garage, "3", surface="dirt")
    both = want(people, garage, "2 1/2")
    paved = want(people, garage, "2 5/8", surface="paved")
    with viewing_as(people.crew.pk):
        for surface, stands in (("dirt", dirt), ("paved", paved)):
            sheet = Sheet(car=garage.car, team=people.team, surface=surface)
            assert own_targets_for(sheet) == {HEIGHT: stands}
        drop_own_target(by=people.crew, own_target=paved)
        assert own_targets_for(sheet) == {HEIGHT: both}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"reason": "  "}, "reason"),
        ({"reason": "x" * 201}, "reason"),
        ({"surface": "ice"}, "surface"),
        ({"box": Key("ride-height", "car")}, "spot"),
    ],
)
def test_what_cannot_be_kept(
    people: People, garage: Garage, change: dict[str, str], field: str
) -> None:
    with pytest.raises(Invalid) as refusal:
        want(people, garage, **change)  # type: ignore[arg-type]
    assert refusal.value.field == field


def test_words_have_no_target(people: People, garage: Garage) -> None:
    with viewing_as(people.crew.pk):
        two = typed("length", "2")
        given: dict[str, Any] = {
            "by": people.crew,
            "car": garage.car,
            "target": two,
            "tolerance": two,
        }
        words = Measure.objects.get(pk="block-marks")
        with pytest.raises(Invalid):
            set_own_target(measure=words, spot="left", reason="So.", **given)


def test_who_may_prefer_and_who_sees_it(people: People, garage: Garage) -> None:
    row = want(people, garage)
    done, seen = set(), set()
    for name in EVERYBODY:
        who = getattr(people, name)
        with viewing_as(who.pk):
            if OwnTarget.objects.exists():
                seen.add(name)
            try:
                with transaction.atomic():
                    drop_own_target(by=who, own_target=row)
                    transaction.set_rollback(True)
                done.add(name)
            except NotAllowed:
                continue
    assert (done, seen) == (CREW, READERS)
    for name in set(EVERYBODY) - CREW:
        with pytest.raises(NotAllowed):
            want(people, garage, by=getattr(people, name))


def test_the_database_refuses_others_too(people: People, garage: Garage) -> None:
    row = want(people, garage)
    for name in ("guest", "coach", "rival", "steward"):
        with viewing_as(getattr(people, name).pk):
            copy = OwnTarget(**{f.attname: getattr(row, f.attname) for f in row._meta.fields})
            copy.pk, copy.spot, copy.by = None, "RF", getattr(people, name)
            with pytest.raises(ProgrammingError), transaction.atomic():
                copy.save(force_insert=True)
            ended = OwnTarget.objects.filter(pk=row.pk)
            assert ended.update(replaced_at=row.created_at, replaced_by=people.crew) == 0
    with viewing_as(people.crew.pk):
        with pytest.raises(ProgrammingError), transaction.atomic():
            OwnTarget.objects.filter(pk=row.pk).update(target=1)
        with pytest.raises(ProgrammingError), transaction.atomic():
            OwnTarget.objects.filter(pk=row.pk).delete()


def test_two_cannot_stand_at_once(people: People, garage: Garage) -> None:
    row = want(people, garage)
    row.pk, row.version = None, 2
    row._state.adding = True
    with viewing_as(people.crew.pk), pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_nothing_is_kept_without_its_line_in_the_trail(
    people: People, garage: Garage, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise DatabaseError("the trail is full")

    monkeypatch.setattr(TrailLine, "save", fails)
    with pytest.raises(DatabaseError):
        want(people, garage)
    with viewing_as(people.crew.pk):
        assert not OwnTarget.objects.exists()


def page(who: User, path: str) -> tuple[int, str]:
    client = Client()
    client.force_login(who)
    answer = client.get(path)
    return answer.status_code, plain(answer.content.decode())


def test_the_order_of_authority_is_seen_wherever_it_shows(people: People, garage: Garage) -> None:
    want(people, garage, reason="It pushes <less>.")
    want(people, garage, "9", box=Key("pressure", "RF"), reason="Cooler.")
    sheet = bench(people, garage, own=False)
    for path in (
        f"/sheets/{sheet.pk}/",
        f"/sheets/{sheet.pk}/bench/ride-heights/",
        f"/cars/{garage.car.pk}/own-targets",
    ):
        status, text = page(people.guest, path)
        assert status == 200
        said = " ".join(text.split())
        assert "The maker's sheet comes first, the club's experience second" in said
        assert "The maker&#x27;s sheet says 2 1/4 in ± 1/16 in, and it comes first" in said
        assert "It pushes &lt;less&gt;." in said
        assert "2 1/2 in ± 1/16 in" in said
    assert "ours 2 1/2 ± 1/16" in page(people.crew, f"/sheets/{sheet.pk}/readings")[1]
    # One that departs from nobody's figure needs no caution.
    assert page(people.guest, f"/sheets/{sheet.pk}/")[1].count("know why you depart") == 1


def test_a_sheets_page_is_judged_as_its_bench_is(people: People, garage: Garage) -> None:
    want(people, garage)
    sheet = bench(people, garage, own=True)
    with viewing_as(people.crew.pk):
        read = find_sheet(sheet.pk)
        assert read is not None
        box = sheet_view(read, people.crew).boxes[HEIGHT]
    assert (box.judgement.outcome, box.target) == (FigureOutcome.ON_TARGET, "2 1/2")


SENT = {"box": "ride-height.LF", "target": "2 1/2", "tolerance": "1/16", "reason": "So it is."}


@pytest.mark.parametrize("name", EVERYBODY)
def test_who_reaches_the_page(people: People, garage: Garage, name: str) -> None:
    path = f"/cars/{garage.car.pk}/own-targets"
    client = Client()
    client.force_login(getattr(people, name))
    sees = 200 if name in READERS else 404
    assert client.get(path).status_code == sees
    writes = 302 if name in CREW else 403 if name in READERS else 404
    assert client.post(path, SENT).status_code == writes
    assert Client().get(path).status_code == 302
    row = want(people, garage)
    assert client.post(f"/own-targets/{row.pk}/drop").status_code == writes


def test_what_cannot_be_read_stays_in_its_field(people: People, garage: Garage) -> None:
    client = Client()
    client.force_login(people.crew)
    sent = {**SENT, "target": "2 1/", "reason": "Mine."}
    text = client.post(f"/cars/{garage.car.pk}/own-targets", sent).content.decode()
    assert 'value="2 1/"' in text
    assert 'value="Mine."' in text


def test_as_many_queries_for_one_own_target_as_for_four(people: People, garage: Garage) -> None:
    sheet = bench(people, garage, own=False)
    paths = (
        f"/sheets/{sheet.pk}/",
        f"/sheets/{sheet.pk}/bench/ride-heights/",
        f"/cars/{garage.car.pk}/own-targets",
    )
    client = Client()
    client.force_login(people.crew)

    def counted() -> list[int]:
        counts = []
        for path in paths:
            client.get(path)
            with CaptureQueriesContext(connection) as asked:
                client.get(path)
            counts.append(len(asked))
        return counts

    want(people, garage)
    one = counted()
    for spot in ("RF", "LR", "RR"):
        want(people, garage, box=Key("ride-height", spot))
    want(people, garage, surface="paved", reason="More.")
    # Another surface's baseline is another thing to ask for.
    assert counted()[:2] == one[:2]


def test_another_car_of_the_team_is_left_alone(people: People, garage: Garage) -> None:
    want(people, garage)
    with viewing_as(people.chief.pk):
        other = add_car(by=people.chief, team=people.team, number="8", chassis=garage.chassis)
        sheet = Sheet(car=other, team=people.team, surface="paved")
        assert own_targets_for(sheet) == {}
