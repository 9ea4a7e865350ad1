"""The team's parts at the corners of a sheet, and that their marks stay the team's."""

from typing import Any

import pytest
from django.db import IntegrityError, ProgrammingError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.catalogue.keys import Key
from cars.figures.formatting import format_rate_of
from cars.garage.actions.parts import add_part
from cars.lookups import find_sheet
from cars.models import Part, PartFitted, Sheet
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from cars.sheets.presenters.parts_fitted import fitted_view
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from clubsetup.quantities.units import Units
from teams.actions.teams import link_coach
from tests.cars.garage import Garage, typed
from tests.people import People, join, person

MARK = "zq-violet-ring"
NOTE = "twelve clicks out"
RATE = Key("spring-rate", "LF")


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


@pytest.fixture
def spring(garage: Garage, people: People) -> Part:
    return make_spring(people, MARK, "110")


def make_spring(people: People, code: str, rate: str) -> Part:
    with viewing_as(people.crew.pk):
        return add_part(
            by=people.crew,
            team=people.team,
            sort="spring",
            code=code,
            note=NOTE,
            rate=typed("spring_rate", rate),
        )


def fit(by: User, sheet: Sheet, part: Part | None, spot: str = "LF", sort: str = "spring") -> Any:
    with viewing_as(by.pk):
        return fit_part(by=by, sheet=sheet, sort=sort, spot=spot, part=part, seen=OVER_ANYTHING)


def standing(people: People, sheet: Sheet) -> dict[str, str]:
    with viewing_as(people.crew.pk):
        rows = PartFitted.objects.current().filter(sheet=sheet)
        return {f"{row.sort} {row.spot}": row.part.code.code for row in rows}


def rate_of(people: People, sheet: Sheet) -> tuple[str, str]:
    """What stands in the box, and its outcome."""
    with viewing_as(people.crew.pk):
        read = find_sheet(sheet.pk)
        assert read is not None
        box = sheet_view(read, people.crew).boxes[RATE]
        return box.text, str(box.judgement.outcome)


def differs(people: People, sheet: Sheet) -> str:
    with viewing_as(people.crew.pk):
        return fitted_view(sheet, people.crew, "springs-dampers")[0].places[0].differs


def test_a_spring_brings_its_rate(people: People, sheet: Sheet, spring: Part) -> None:
    fit(people.crew, sheet, spring)
    assert standing(people, sheet) == {"spring LF": MARK}
    assert rate_of(people, sheet)[0] == "110"
    assert differs(people, sheet) == ""


def test_a_rate_typed_later_wins_and_is_seen_to_differ(
    people: People, sheet: Sheet, spring: Part
) -> None:
    fit(people.crew, sheet, spring)
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"spring-rate.LF": "114"})
    assert rate_of(people, sheet)[0] == "114"
    assert standing(people, sheet) == {"spring LF": MARK}
    assert differs(people, sheet) == "114 lb/in is typed on the sheet; the part says 110."


def test_the_same_part_again_does_not_bring_its_rate_back(
    people: People, sheet: Sheet, spring: Part
) -> None:
    fit(people.crew, sheet, spring)
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"spring-rate.LF": "114"})
    fit(people.crew, sheet, spring)
    assert rate_of(people, sheet)[0] == "114"
    with viewing_as(people.crew.pk):
        assert PartFitted.objects.count() == 1


def test_a_swap_keeps_the_old_one_and_asks_for_what_it_touches(
    people: People, garage: Garage, spring: Part
) -> None:
    other = make_spring(people, "red", "110")
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew, role="set")
    fit(people.crew, sheet, spring)
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2 1/4"})
    fit(people.chief, sheet, other)
    assert standing(people, sheet) == {"spring LF": "red"}
    with viewing_as(people.crew.pk):
        old = PartFitted.objects.get(part=spring)
        assert old.replaced_by == people.chief
        assert [change.adjuster for change in sheet.changes.all()] == ["spring"]
        read = find_sheet(sheet.pk)
        assert read is not None
        view = sheet_view(read, people.crew)
    assert view.boxes[Key("ride-height", "LF")].is_retake
    # The rate is the new part's, though it says the same.
    assert rate_of(people, sheet) == ("110", "no target")


def test_a_part_taken_off_leaves_the_reading(people: People, sheet: Sheet, spring: Part) -> None:
    fit(people.crew, sheet, spring)
    assert fit(people.crew, sheet, None) is None
    assert standing(people, sheet) == {}
    assert rate_of(people, sheet)[0] == "110"


@pytest.mark.parametrize(
    ("metric", "imperial"), [("19.3", "19.3 N/mm"), ("19.3 N/mm", "19.3 N/mm")]
)
def test_the_rate_means_the_same_to_somebody_with_other_units(metric: str, imperial: str) -> None:
    in_mm = Units(spring_rate="N/mm")
    given = parse(metric, Kind.SPRING_RATE, units=in_mm)
    part = Part(sort="spring", rate=given.value, rate_typed=given.text)
    assert format_rate_of(part, in_mm) == metric
    in_pounds = Units()
    assert format_rate_of(part, in_pounds) == imperial
    assert parse(imperial, Kind.SPRING_RATE, units=in_pounds).value == part.rate


@pytest.mark.parametrize(
    ("sort", "spot", "field"),
    [("spring", "front", "spot"), ("wing", "LF", "sort"), ("damper", "LF", "part")],
)
def test_what_does_not_go_together(
    people: People, sheet: Sheet, spring: Part, sort: str, spot: str, field: str
) -> None:
    with pytest.raises(Invalid) as refusal:
        fit(people.crew, sheet, spring, spot=spot, sort=sort)
    assert refusal.value.field == field


def test_a_closed_sheet_keeps_its_parts(people: People, sheet: Sheet, spring: Part) -> None:
    fit(people.crew, sheet, spring)
    with viewing_as(people.crew.pk):
        close_sheet(by=people.crew, sheet=sheet)
    with pytest.raises(WrongState):
        fit(people.crew, sheet, None)
    row = {"sheet": sheet, "team": people.team, "part": spring, "by": people.crew}
    with viewing_as(people.crew.pk), pytest.raises(IntegrityError), transaction.atomic():
        PartFitted(sort="spring", spot="RF", **row).save(force_insert=True)


def written_whole(row: PartFitted) -> None:
    """Written, and checked as a commit would."""
    row.save(force_insert=True)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def test_the_database_holds_a_part_to_its_sort_and_its_team(
    people: People, sheet: Sheet, spring: Part
) -> None:
    with viewing_as(people.rival.pk):
        theirs = add_part(by=people.rival, team=people.rival_team, sort="spring", code="x")
    for part, sort in ((spring, "damper"), (theirs, "spring")):
        row = {"sheet": sheet, "team": people.team, "part": part, "by": people.crew}
        with viewing_as(people.crew.pk), pytest.raises(IntegrityError), transaction.atomic():
            written_whole(PartFitted(sort=sort, spot="RF", **row))


def test_what_is_on_a_corner_is_never_edited(people: People, sheet: Sheet, spring: Part) -> None:
    row = fit(people.crew, sheet, spring)
    with viewing_as(people.crew.pk), pytest.raises(ProgrammingError), transaction.atomic():
        PartFitted.objects.filter(pk=row.pk).update(spot="RF")


def test_the_parts_go_on_to_the_sheet_as_set_and_to_a_correction(
    people: People, sheet: Sheet, spring: Part
) -> None:
    fit(people.crew, sheet, spring)
    with viewing_as(people.crew.pk):
        closed = close_sheet(by=people.crew, sheet=sheet)
        as_set = open_set_sheet(by=people.crew, sheet=closed)
        again = correct_sheet(by=people.crew, sheet=closed, reason="Misread.")
    assert standing(people, as_set) == standing(people, again) == {"spring LF": MARK}


def coach_of(people: People, name: str, **let: Any) -> User:
    """Another coach of the club, linked to the team."""
    coach = person(name)
    join(people.steward, coach, people.club, "coach")
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=coach, **let)
    return coach


@pytest.fixture
def everybody(people: People) -> dict[str, User]:
    names = (
        *("chief", "crew", "guest", "coach", "unlinked_coach", "official", "steward"),
        *("other_official", "other_steward", "rival", "stranger"),
    )
    return {
        **{name: getattr(people, name) for name in names},
        "writer": coach_of(people, "writer", may_write=True),
        "coder": coach_of(people, "coder", may_see_codes=True),
        "writing coder": coach_of(people, "writing coder", may_write=True, may_see_codes=True),
    }


SEES_MARKS = {"chief", "crew", "guest", "coder", "writing coder"}
FITS = {"chief", "crew", "writing coder"}


def test_who_may_say_which_part_is_on(
    people: People, sheet: Sheet, spring: Part, everybody: dict[str, User]
) -> None:
    done = set()
    for name, who in everybody.items():
        try:
            with transaction.atomic():
                fit(who, sheet, spring)
                transaction.set_rollback(True)
            done.add(name)
        except (NotAllowed, Sheet.DoesNotExist):
            continue
    assert done == FITS


def test_a_writing_coach_without_marks_carries_the_sheet_on_without_parts(
    people: People, sheet: Sheet, spring: Part, everybody: dict[str, User]
) -> None:
    fit(people.crew, sheet, spring)
    writer = everybody["writer"]
    with viewing_as(writer.pk):
        closed = close_sheet(by=writer, sheet=sheet)
        as_set = open_set_sheet(by=writer, sheet=closed)
    assert standing(people, as_set) == {}
    assert rate_of(people, as_set)[0] == "110"


def pages_of(sheet: Sheet, people: People) -> list[str]:
    """Every page, operation and list on which a part could show."""
    car, team, club = sheet.car_id, people.team.pk, people.club.pk
    chassis, baseline = sheet.car.chassis_id, sheet.baseline_id
    bench = [f"/sheets/{sheet.pk}/bench/{step}/" for step in ("tyres", "springs-dampers")]
    api = (
        *("parts", "sheets", "readings", "changes", "comments", "cars", "baselines", "plans"),
        *(f"sheets/{sheet.pk}", f"cars/{car}", f"cars/{car}/drift", f"cars/{car}/calibration"),
    )
    return [
        *("/", "/cars/", f"/cars/{car}/", f"/cars/{car}/sheets/", f"/cars/{car}/own-targets"),
        *(f"/cars/{car}/drift", f"/cars/{car}/calibration", f"/teams/{team}/parts/"),
        *(f"/sheets/{sheet.pk}/", f"/sheets/{sheet.pk}/history", f"/sheets/{sheet.pk}/parts"),
        *(f"/sheets/{sheet.pk}/bench/done", *bench, *(f"{page}now" for page in bench)),
        *(f"/clubs/{club}/", f"/clubs/{club}/trail", f"/teams/{team}/", f"/teams/{team}/trail"),
        *(f"/chassis/{chassis}/", f"/baselines/{baseline}/", f"/baselines/{baseline}/review"),
        *(f"/api/v1/{path}" for path in api),
    ]


def test_no_answer_names_a_mark_to_who_may_not_see_it(
    people: People, sheet: Sheet, spring: Part, everybody: dict[str, User]
) -> None:
    """Swept over the pages and the API, for everybody."""
    other = make_spring(people, f"{MARK}-two", "120")
    fit(people.crew, sheet, spring)
    fit(people.crew, sheet, other)
    with viewing_as(people.crew.pk):
        sheet = Sheet.objects.select_related("car").get(pk=sheet.pk)
    named: dict[str, set[str]] = {}
    reached = set()
    for name, who in everybody.items():
        client = Client()
        client.force_login(who)
        for path in pages_of(sheet, people):
            answer = client.get(path)
            text = answer.content.decode()
            if answer.status_code == 200:
                reached.add(path)
            if MARK in text or NOTE in text:
                named.setdefault(name, set()).add(path)
    assert reached == set(pages_of(sheet, people))
    assert set(named) == SEES_MARKS
    for name, paths in named.items():
        # What the sweep would have found elsewhere.
        assert f"/sheets/{sheet.pk}/parts" in paths, name
        assert f"/sheets/{sheet.pk}/bench/springs-dampers/" in paths, name
        assert "/api/v1/parts" in paths, name


def test_no_mark_is_in_the_trail_or_on_a_print(people: People, sheet: Sheet, spring: Part) -> None:
    other = make_spring(people, f"{MARK}-two", "120")
    for part in (spring, other, None):
        fit(people.crew, sheet, part)
    with viewing_as(people.chief.pk):
        trail = [str(row.detail) for row in TrailLine.objects.filter(on_id=sheet.pk)]
        printed = document_for("sheet").html(sheet, people.chief)
    assert len(trail) > 5
    assert not [line for line in trail if MARK in line or NOTE in line]
    assert "110" in printed or "120" in printed
    assert MARK not in printed


def test_rows_are_the_teams_and_of_coaches_it_lets(
    people: People, sheet: Sheet, spring: Part, everybody: dict[str, User]
) -> None:
    fit(people.crew, sheet, spring)
    seen = set()
    for name, who in everybody.items():
        with viewing_as(who.pk):
            if PartFitted.objects.exists():
                seen.add(name)
    assert seen == SEES_MARKS


def send(who: User, sheet: Sheet, **given: str) -> int:
    client = Client()
    client.force_login(who)
    return client.post(f"/sheets/{sheet.pk}/parts", given).status_code


def test_who_may_choose_it_on_the_page(
    people: People, sheet: Sheet, spring: Part, everybody: dict[str, User]
) -> None:
    sees_sheet = {"chief", "crew", "guest", "coach", "writer", "coder", "writing coder"}
    for name, who in everybody.items():
        answer = send(who, sheet, **{"spring-LF": str(spring.pk), "was-spring-LF": ""})
        assert answer == (302 if name in FITS else 403 if name in sees_sheet else 404), name
    assert Client().get(f"/sheets/{sheet.pk}/parts").status_code == 302
    assert standing(people, sheet) == {"spring LF": MARK}


def test_a_corner_left_as_it_stood_says_nothing(people: People, sheet: Sheet, spring: Part) -> None:
    """Somebody else put another part there while this page was open."""
    other = make_spring(people, "red", "120")
    fit(people.chief, sheet, other)
    sent = {"spring-LF": "", "was-spring-LF": "", "spring-RF": str(spring.pk), "was-spring-RF": ""}
    assert send(people.crew, sheet, step="springs-dampers", **sent) == 302
    assert standing(people, sheet) == {"spring LF": "red", "spring RF": MARK}


def test_a_part_of_another_team_cannot_be_sent(people: People, sheet: Sheet) -> None:
    with viewing_as(people.rival.pk):
        theirs = add_part(by=people.rival, team=people.rival_team, sort="spring", code="x")
    assert send(people.crew, sheet, **{"spring-LF": str(theirs.pk), "was-spring-LF": ""}) == 400
    assert standing(people, sheet) == {}


def test_as_many_queries_for_one_part_as_for_twelve(people: People, sheet: Sheet) -> None:
    def counted() -> int:
        with viewing_as(people.crew.pk), CaptureQueriesContext(connection) as asked:
            fitted_view(sheet, people.crew)
        return len(asked)

    fit(people.crew, sheet, make_spring(people, "0", "100"))
    counted()  # the club's units are asked for once
    one = counted()
    for number, spot in enumerate(("LF", "RF", "LR", "RR"), start=1):
        fit(people.crew, sheet, make_spring(people, str(number), "110"), spot)
    for number in range(7):
        make_spring(people, f"more {number}", "120")
    assert counted() == one == 3
