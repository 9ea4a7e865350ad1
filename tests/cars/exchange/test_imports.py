"""Imports: what is shown before, what is made, that it is all or nothing, and withdrawn as one."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client

from cars.exchange.actions import import_sending, import_work, import_writing
from cars.exchange.actions.imports import (
    begin_import,
    choose_columns,
    confirm_import,
    drop_import,
    withdraw_import,
)
from cars.history.actions.advice import leave_advice
from cars.history.actions.school_days import plan_school_day, show_school_day
from cars.models import Import, ImportColumns, Laps, Reading, Run, RunDetails, Sheet
from cars.runs.actions.runs import RunFacts, note_run
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.actions.erasing import erase_driver
from teams.queries.clocks import zone_of
from tests.cars.exchange.importing import RUNS, SHEETS, brought_in, problems, sent
from tests.cars.garage import Garage
from tests.owner import bend
from tests.people import People


def test_runs_and_laps_come_in_with_the_decimal_comma(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        draft = sent(people.crew, people.team, RUNS)
        assert not Run.objects.exists()
        row = confirm_import(by=people.crew, row=draft)
        assert (row.state, row.made, row.cells) == ("done", 2, [])
        second, first = Run.objects.order_by("-ran_at")
        assert first.ran_at == datetime(2026, 3, 14, 10, 20, tzinfo=zone_of(people.crew))
        assert first.from_import == row
        assert (first.sheet, first.car_state) == (None, {})
        laps = Laps.objects.get(run=first)
        assert laps.times == [Decimal("7.41"), Decimal("7.52"), Decimal("7.48")]
        assert RunDetails.objects.get(run=second).kind == "heat"
        assert TrailLine.objects.filter(did="noted", on_id=first.pk).exists()
        assert TrailLine.objects.filter(did="brought_in", on_id=row.pk).exists()


def test_a_row_a_lap_is_one_run(garage: Garage, people: People) -> None:
    text = "Car,Date,Run,Lap,Lap time\n" + "".join(
        f"7,2026-03-14,{run},{lap},7.{run}{lap}\n" for run in (1, 2) for lap in (1, 2, 3)
    )
    with viewing_as(people.crew.pk):
        row = brought_in(people.crew, people.team, text)
        assert row.made == 2
        times = [laps.times for laps in Laps.objects.order_by("run__ran_at")]
        assert times[1] == [Decimal("7.21"), Decimal("7.22"), Decimal("7.23")]


def test_sheets_come_in_closed_with_units_of_their_headers(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        row = brought_in(people.crew, people.team, SHEETS, "set")
        assert row.made == 2
        first, second = Sheet.objects.order_by("made_on")
        assert (first.role, first.state, first.fuel_typed) == ("set", "closed", "0.5 gal")
        found = {
            f"{each.measure_id}.{each.spot}": (each.typed, each.value)
            for each in Reading.objects.filter(sheet=first)
        }
        assert found["ride-height.LF"] == ("57 mm", Decimal(57))
        assert found["ride-height.RF"] == ("2 3/8", Decimal("60.325"))
        assert "cross.car" not in found  # computed from the weights
        assert second.readings.get(measure="ride-height", spot="LF").typed == "58.5 mm"


def test_columns_are_told_by_example_where_no_header_names_them(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.crew.pk):
        row = sent(people.crew, people.team, "2026-03-14,7,7.41\n2026-03-15,7,7.52\n")
        assert row.columns == ["date", "car", "laps"]
        assert confirm_import(by=people.crew, row=row).made == 2


def test_what_was_chosen_is_remembered_for_the_team_and_kind(
    garage: Garage, people: People
) -> None:
    text = "Wann,Wer,Zeiten\n{},7,7.41\n"
    with viewing_as(people.crew.pk):
        row = sent(people.crew, people.team, text.format("2026-03-14"))
        assert row.columns == ["", "", ""]
        choose_columns(by=people.crew, row=row, columns=["date", "car", "laps"])
        again = sent(people.crew, people.team, text.format("2026-03-15"))
        assert again.columns == ["date", "car", "laps"]
        other = sent(people.crew, people.team, text.format("2026-03-15"), "found")
        assert other.columns == ["", "", ""]


WRONG = """Date,Car,Time,Kind,Laps,Driver
14.3.2026,7,10:20,practice,7.41,
2026-02-30,7,10:40,practice,7.41,
2026-03-14,8,25:00,race,fast,Nobody
46095,7,11:00,practice,7.41,
2999-01-01,7,11:00,practice,7.41,
"""


def test_every_problem_is_told_by_row_and_column_and_nothing_is_made(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.crew.pk):
        row = sent(people.crew, people.team, WRONG)
        told = problems(row, people.crew)
        places = [(number, column) for number, column, _ in told]
        assert places == [(3, 0), (4, 1), (4, 2), (4, 3), (4, 4), (4, 5), (5, 0), (6, 0)]
        assert "no day of the calendar" in told[0][2]
        assert "14 Mar 2026" in told[6][2]
        with pytest.raises(Invalid, match="Row 3, column A"):
            confirm_import(by=people.crew, row=row)
        assert not Run.objects.exists()


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ("Date,Car,Laps\n3/4/2026,7,7.41\n", (2, 0), "two ways"),
        ("Date,Car,Weight LF\n2026-03-14,7,2026-05-16\n", (2, 2), "A date"),
        ("Date,Car,Weight LF (mm)\n2026-03-14,7,101\n", (1, 2), "mm"),
        ("Date,Car,Weight LF\n2026-03-14,7,=A1\n", (2, 2), "formula"),
        ("Date,Car,Date\n2026-03-14,7,2026-03-14\n", (1, -1), ""),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused(
    garage: Garage, people: People, text: str, where: tuple[int, int], what: str
) -> None:
    kind = "found" if "Weight" in text else "runs"
    with viewing_as(people.crew.pk):
        told = problems(sent(people.crew, people.team, text, kind), people.crew)
        if what:
            assert [(row, column) for row, column, _ in told] == [where]
            assert what in told[0][2]


def test_a_row_that_an_action_refuses_undoes_all_of_them(
    garage: Garage, people: People, monkeypatch: Any
) -> None:
    write = import_writing._write_run

    def refusing(by: Any, row: Any, each: Any, then: Any) -> None:
        if each.number == 3:
            raise Invalid("finish", "Not so.")
        write(by, row, each, then)

    monkeypatch.setattr(import_writing, "_write_run", refusing)
    with viewing_as(people.crew.pk):
        draft = sent(people.crew, people.team, RUNS)
        with pytest.raises(Invalid, match="Row 3: Not so"):
            confirm_import(by=people.crew, row=draft)
        assert not Run.objects.exists()
        draft.refresh_from_db()
        assert draft.state == "draft"


def test_the_same_table_is_not_brought_in_twice(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        first = brought_in(people.crew, people.team, RUNS)
        again = sent(people.crew, people.team, RUNS)
        assert "noted already" in problems(again, people.crew)[0][2]
        with pytest.raises(WrongState, match="brought in already"):
            confirm_import(by=people.crew, row=again)
        withdraw_import(by=people.crew, row=first)
        assert confirm_import(by=people.crew, row=again).made == 2


def many(rows: int) -> str:
    row = "2026-03-{:02},{}:{:02},7,7.41\n"
    return "Date,Time,Car,Laps\n" + "".join(
        row.format(1 + at // 100, 8 + at // 60 % 10, at % 60) for at in range(rows)
    )


def test_above_200_rows_the_worker_brings_them_in(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        row = confirm_import(by=people.crew, row=sent(people.crew, people.team, many(201)))
        assert row.state == "waiting"
        assert not Run.objects.exists()
    import_work.work_on(row.pk)
    import_work.work_on(row.pk)
    with viewing_as(people.crew.pk):
        row.refresh_from_db()
        assert (row.state, row.made) == ("done", 201)
        assert Run.objects.count() == 201


def test_a_worker_that_cannot_says_why_and_leaves_a_draft(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        row = confirm_import(by=people.crew, row=sent(people.crew, people.team, many(201)))
        brought_in(people.crew, people.team, "Date,Time,Car\n2026-03-01,8:00,7\n")
    import_work.work_on(row.pk)
    with viewing_as(people.crew.pk):
        row.refresh_from_db()
        assert row.state == "draft"
        assert "noted already" in row.problem
        assert Run.objects.count() == 1


def test_what_nobody_holds_is_sent_again(garage: Garage, people: People, monkeypatch: Any) -> None:
    rung: list[Any] = []

    def ring(pk: Any) -> bool:
        rung.append(pk)
        return True

    monkeypatch.setattr(import_sending, "send", ring)
    with viewing_as(people.crew.pk):
        row = confirm_import(by=people.crew, row=sent(people.crew, people.team, many(201)))
        Import.objects.filter(pk=row.pk).update(
            sent_at=datetime(2026, 1, 1, tzinfo=UTC), attempts=1
        )
    import_sending.send_unheld_imports()
    assert row.pk in rung


@pytest.mark.parametrize(
    ("asked", "column", "kept"),
    [("", "", "transponder"), ("hand", "", "hand"), ("hand", "transponder", "transponder")],
)
def test_laps_are_timed_by_whom_the_file_or_its_sender_says(
    garage: Garage, people: People, asked: str, column: str, kept: str
) -> None:
    text = f"Date,Car,Laps,Timed by\n2026-03-14,7,7.41,{column}\n"
    with viewing_as(people.crew.pk):
        draft = begin_import(
            by=people.crew,
            team=people.team,
            kind="runs",
            file_name="t.csv",
            content=text.encode(),
            timed_by=asked,
        )
        confirm_import(by=people.crew, row=draft)
        assert Laps.objects.get().timed_by == kept


def test_a_wrong_word_for_who_timed_names_row_and_column(garage: Garage, people: People) -> None:
    text = "Date,Car,Laps,Timed by\n2026-03-14,7,7.41,the dog\n"
    with viewing_as(people.crew.pk):
        ((row, column, message),) = problems(sent(people.crew, people.team, text), people.crew)
    assert (row, column) == (2, 3)
    assert "transponder or by hand" in message


def test_an_imported_run_keeps_the_car_as_it_stood(garage: Garage, people: People) -> None:
    """With the sheet as set that stood before; of a run without a time what held all day."""
    with viewing_as(people.crew.pk):
        brought_in(people.crew, people.team, SHEETS, "set")
        before, after = Sheet.objects.order_by("made_on")
        text = "Date,Time,Car\n2026-03-13,10:00,7\n2026-03-16,10:00,7\n2026-03-23,,7\n"
        brought_in(people.crew, people.team, text)
        none, first, second = Run.objects.order_by("ran_at")
        assert (none.sheet, none.car_state) == (None, {})
        assert (first.sheet, second.sheet) == (before, after)
        assert first.car_state["figures"]["ride-height.LF"] == 57.0
        assert second.car_state["figures"]["ride-height.LF"] == 58.5


def test_an_old_draft_is_dropped_by_the_sweeper(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        old, new = (sent(people.crew, people.team, RUNS) for _ in range(2))
        done = brought_in(people.crew, people.team, SHEETS, "found")
        for row in (old, done):
            at = row.created_at - timedelta(days=8)
            bend(row, created_at=at, confirmed_at=at if row.confirmed_by_id else None)
    assert import_sending.drop_old_drafts() == 1
    with viewing_as(people.crew.pk):
        for row in (old, new, done):
            row.refresh_from_db()
        assert (old.state, old.cells) == ("dropped", [])
        assert new.state == "draft"
        assert done.state == "done"


@pytest.mark.parametrize(("who", "shown"), [("chief", True), ("crew", True), ("guest", False)])
def test_who_may_not_bring_a_file_in_is_not_led_there(
    client: Client, garage: Garage, people: People, who: str, shown: bool
) -> None:
    client.force_login(getattr(people, who))
    page = client.get(f"/cars/{garage.car.pk}/").content.decode()
    assert ("Bring in a file" in page) is shown
    answer = client.get(f"/cars/{garage.car.pk}/imports", follow=True)
    assert (answer.status_code == 200) is shown


@pytest.mark.parametrize("who", ["chief", "crew", "guest", "coach"])
def test_a_withdrawn_import_hides_its_rows_from_everybody(
    garage: Garage, people: People, who: str
) -> None:
    with viewing_as(people.crew.pk):
        runs = brought_in(people.crew, people.team, RUNS)
        sheets = brought_in(people.crew, people.team, SHEETS, "found")
    viewer = getattr(people, who)
    with viewing_as(viewer.pk):
        assert (Run.objects.count(), Sheet.objects.count()) == (2, 2)
    with viewing_as(people.chief.pk):
        withdraw_import(by=people.chief, row=runs)
        withdraw_import(by=people.chief, row=sheets)
    with viewing_as(viewer.pk):
        assert not Run.objects.exists()
        assert not Sheet.objects.exists()
        assert (
            not Laps.objects.filter(run__isnull=False)
            .select_related("run")
            .filter(run__car=garage.car)
        )


def test_it_is_not_withdrawn_where_something_rests_on_it(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        row = brought_in(people.crew, people.team, SHEETS, "set")
        newest = Sheet.objects.order_by("-made_on")[0]
        run = note_run(by=people.crew, car=garage.car, facts=RunFacts(kind="practice"))
        assert run.sheet == newest
        target = open_sheet(by=people.crew, car=garage.car, role="target", based_on=newest)
        assert target
    with viewing_as(people.coach.pk):
        leave_advice(by=people.coach, car=garage.car, text="Look at the left front.")
        planned = plan_school_day(
            by=people.coach,
            club=people.club,
            day=date(2027, 1, 9),
            name="First evening",
            cars=[garage.car],
        )
        show_school_day(by=people.coach, school_day=planned)
    with viewing_as(people.crew.pk):
        with pytest.raises(WrongState) as refused:
            withdraw_import(by=people.crew, row=row)
        said = str(refused.value)
        assert "the run of car 7" in said
        assert "target" in said
        assert "left advice on car 7" in said
        assert "goes out to a sheet of it, First evening" in said
        assert Sheet.objects.filter(from_import=row).count() == 2


@pytest.mark.parametrize("who", ["guest", "coach", "official", "steward", "rival", "stranger"])
def test_others_than_the_crew_bring_nothing_in(garage: Garage, people: People, who: str) -> None:
    by = getattr(people, who)
    with viewing_as(people.crew.pk):
        row = sent(people.crew, people.team, RUNS)
    with viewing_as(by.pk):
        assert not Import.objects.exists()
        with pytest.raises(NotAllowed):
            begin_import(
                by=by, team=people.team, kind="runs", file_name="t.csv", content=RUNS.encode()
            )
        for act in (confirm_import, drop_import, withdraw_import):
            with pytest.raises(NotAllowed):
                act(by=by, row=row)


def test_the_pages_show_problems_confirm_and_withdraw(
    client: Client, garage: Garage, people: People
) -> None:
    client.force_login(people.crew)
    where = f"/teams/{people.team.pk}/imports"
    assert client.post(where, {"kind": "runs"}).status_code == 400
    shown = client.post(where, {"kind": "runs", "text": WRONG}, follow=True)
    assert b"8 problems" in shown.content
    shown = client.post(where, {"kind": "runs", "text": RUNS}, follow=True)
    assert b"2 runs with 5 laps, no problem" in shown.content
    address = shown.redirect_chain[-1][0]
    shown = client.post(f"{address}confirm", follow=True)
    assert b"2 runs brought in" in shown.content
    assert b"Leave it as it is" in client.get(f"{address}withdraw").content
    shown = client.post(f"{address}withdraw", follow=True)
    assert b"stands on no page any more" in shown.content
    assert b"Withdrawn" in client.get(where).content


def test_over_the_api(client: Client, garage: Garage, people: People) -> None:
    client.force_login(people.crew)
    body = {"team": people.team.pk, "kind": "runs"}
    file = SimpleUploadedFile("t.csv", RUNS.encode())
    made = client.post("/api/v1/imports", {**body, "file": file})
    assert made.status_code == 201, made.content
    address = f"/api/v1/imports/{made.json()['id']}"
    preview = client.get(f"{address}/preview").json()
    assert (preview["comes_to"], preview["problems"]) == ("2 runs with 5 laps", [])
    columns = {"columns": made.json()["columns"]}
    assert client.put(f"{address}/columns", columns, "application/json").status_code == 200
    assert client.post(f"{address}/confirm").json()["made"] == 2
    assert client.post(f"{address}/drop").status_code == 409
    assert client.post(f"{address}/withdraw").json()["withdrawn_at"]


def test_erasing_a_driver_drops_what_was_not_brought_in(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        driver = add_driver(by=people.chief, team=people.team, display_name="Juno")
        runs = b"Date,Time\n2026-03-15,10:20\n"
        row = begin_import(
            by=people.chief, team=people.team, kind="runs", file_name="Juno.csv", content=runs
        )
        choose_columns(by=people.chief, row=row, columns=row.columns)
        erase_driver(by=people.chief, driver=driver)
        row.refresh_from_db()
        assert (row.state, row.cells, row.flaws) == ("dropped", [], [])
        assert row.file_name == "the driver.csv"
        assert all(each.places == {} for each in ImportColumns.objects.all())
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_get_functiondef('access.what_teams_run(uuid)'::regprocedure)")
        assert "cars_import" in cursor.fetchone()[0]
