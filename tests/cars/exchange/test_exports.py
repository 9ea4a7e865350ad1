"""Everything a team owns in one archive: who has it, what is in it, what of it a coach gets."""

import hashlib
import json
from typing import Any

import pytest
from django.http import Http404
from django.test import Client
from django.urls import reverse
from jsonschema import Draft202012Validator

from cars.exchange.actions.exports import COACH_ARCHIVE, TEAM_ARCHIVE, export_team
from cars.exchange.files.archive_schema import published_schema
from cars.sheets.actions.comments import add_comment
from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.files import file_response
from clubsetup.printing.models import PrintJob
from clubsetup.printing.work import make_print
from teams.actions.erasing import erase_driver
from teams.actions.teams import set_team_role, unlink_coach
from teams.models import CoachLink, TeamMember
from tests.cars.exchange.unpacked import Archive, archive_of, unzipped
from tests.guards.world import World, undone
from tests.here import need_prints
from tests.markup import one_line

SCHEMA = json.loads(published_schema())
VALIDATOR = Draft202012Validator(SCHEMA, format_checker=Draft202012Validator.FORMAT_CHECKER)
# No official has asked for an age there, and no piece lies at a mount of the chassis.
NONE_THERE = {"age_answers", "ballast_mounts"}


@pytest.fixture(scope="module")
def full(world: World) -> Archive:
    """Of the Wrens, as their chief has it."""
    need_prints()
    return archive_of(world.people.chief, world.people.team)


@pytest.fixture(scope="module")
def of_coach(world: World) -> Archive:
    """Of the Wrens, as a coach has it who may not see the codes of parts."""
    need_prints()
    return archive_of(world.people.coach, world.people.team)


def test_the_published_schema_is_one_and_the_archive_is_as_it_says(full: Archive) -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert list(VALIDATOR.iter_errors(full.data)) == []


def test_the_schema_refuses_what_is_otherwise(full: Archive) -> None:
    otherwise: tuple[tuple[str, Any], ...] = (("version", 2), ("format", "another"))
    for name, wrong in otherwise:
        assert list(VALIDATOR.iter_errors({**full.data, name: wrong}))
    reading = full.data["rows"]["team"]["readings"][0]
    otherwise = (("value", 57.15), ("sheet", "1"), ("more", 1), ("take", "1"))
    for name, wrong in otherwise:
        rows = {"rows": {"team": {"readings": [{**reading, name: wrong}]}}}
        found = [e for e in VALIDATOR.iter_errors(rows) if "readings" in e.json_path]
        assert found, name


def test_every_kind_of_row_is_in_it(full: Archive) -> None:
    assert {name for name, rows in full.rows.items() if not rows} <= NONE_THERE


def test_nothing_in_it_is_of_another_team(full: Archive, world: World) -> None:
    text = full.files["team.json"].decode()
    assert str(world.people.rival_team.pk) not in text
    assert "password" not in text
    assert "@" not in text


def test_figures_are_exact_and_as_typed(full: Archive, world: World) -> None:
    with viewing_as(world.people.chief.pk):
        kept = world.reading
    found = next(one for one in full.rows["readings"] if one["id"] == str(kept.pk))
    assert found["typed"] == kept.typed
    assert kept.value is not None
    assert found["value"] == f"{kept.value.normalize():f}"
    assert full.data["measures"][found["measure"]]["unit"]


def test_the_spreadsheet_has_a_sheet_a_kind_and_units_in_its_headers(full: Archive) -> None:
    book = full.workbook()
    assert set(book) == {*full.rows, "figures"}
    for name, rows in full.rows.items():
        assert len(book[name]) == len(rows) + 1, name
    assert "marked mass (kg)" in book["ballast_pieces"][0]
    assert "value (unit of the measure)" in book["readings"][0]
    assert book["readings"][0][-1] == "unit of the measure"
    assert {row[-1] for row in book["readings"][1:]} & {"mm", "kg", "kPa"}
    assert "Ride height LF (mm)" in book["figures"][0]


def test_text_that_looks_like_a_formula_is_text(world: World) -> None:
    need_prints()
    with undone():
        with viewing_as(world.people.chief.pk):
            add_comment(by=world.people.chief, sheet=world.sheet, text="=1+1")
        comments = archive_of(world.people.chief, world.people.team).workbook()["comments"]
    assert any("=1+1" in row for row in comments)  # `workbook` fails where a cell is a formula


def test_its_prints_are_in_it(full: Archive) -> None:
    prints = [name for name in full.files if name.startswith("prints/")]
    assert prints
    assert all(full.files[name].startswith(b"%PDF") for name in prints)
    assert b"as you keep a family's papers" in full.files["README.txt"]


def test_a_coach_gets_what_the_coach_may_see(of_coach: Archive, full: Archive) -> None:
    assert list(VALIDATOR.iter_errors(of_coach.data)) == []
    assert of_coach.data["seen_as"] == "coach"
    for name in ("driver_births", "parts", "part_codes", "parts_fitted", "run_parts"):
        assert of_coach.rows[name] == [], name
        assert full.rows[name], name
    for name in ("sheets", "readings", "runs", "laps", "advice"):
        assert of_coach.rows[name] == full.rows[name], name
    born = full.rows["driver_births"][0]["birth_date"]
    code = full.rows["part_codes"][0]["code"]
    for content in (of_coach.files["team.json"].decode(), str(of_coach.workbook())):
        assert born not in content
        assert f'"{code}"' not in content


def test_a_coach_whom_the_team_lets_see_codes_gets_them(world: World) -> None:
    need_prints()
    found = archive_of(world.coder, world.people.team).rows
    assert found["part_codes"]
    assert found["driver_births"] == []


@pytest.mark.parametrize(
    "who",
    [
        *("guest", "official", "steward", "unlinked_coach", "rival", "other_official"),
        "stranger",
    ],
)
def test_nobody_else_has_one(world: World, who: str) -> None:
    by: User = getattr(world.people, who)
    with undone(), viewing_as(by.pk):
        with pytest.raises(NotAllowed):
            export_team(by=by, team=world.people.team)
        for key in (TEAM_ARCHIVE, COACH_ARCHIVE):  # nor by the way of prints
            with pytest.raises(Http404):
                ask_for_print(by=by, document=key, subject_id=world.people.team.pk)


def test_an_archive_is_no_print(world: World) -> None:
    """A token that may print has what a print shows, and not the birth dates of a team."""
    chief = world.people.chief
    with undone(), viewing_as(chief.pk), pytest.raises(Http404):
        ask_for_print(by=chief, document=TEAM_ARCHIVE, subject_id=world.people.team.pk)


def _still_there(by: User, job: PrintJob) -> bool:
    with viewing_as(by.pk):
        try:
            unzipped(file_response(PrintJob.objects.get(pk=job.pk)))
        except (Http404, PrintJob.DoesNotExist):
            return False
    return True


def test_it_is_fetched_only_by_whoever_still_may_have_it(world: World) -> None:
    need_prints()
    people = world.people
    with undone():
        job = archive_of(people.crew, people.team).job
        assert _still_there(people.crew, job)
        assert not _still_there(people.chief, job)
        with viewing_as(people.chief.pk):
            member = TeamMember.objects.get(team=people.team, user=people.crew)
            set_team_role(by=people.chief, member=member, role="guest")
        assert not _still_there(people.crew, job)
    with undone():
        job = archive_of(people.coach, people.team).job
        with viewing_as(people.chief.pk):
            link = CoachLink.objects.get(team=people.team, coach=people.coach)
            unlink_coach(by=people.chief, link=link)
        assert not _still_there(people.coach, job)


def test_who_is_sent_away_before_it_is_made_gets_none(world: World) -> None:
    people = world.people
    need_prints()
    with undone():
        with viewing_as(people.coach.pk):
            job = export_team(by=people.coach, team=people.team)
        with viewing_as(people.chief.pk):
            link = CoachLink.objects.get(team=people.team, coach=people.coach)
            unlink_coach(by=people.chief, link=link)
        make_print(job.pk)
        with viewing_as(people.coach.pk):
            assert PrintJob.objects.get(pk=job.pk).state == "failed"


def test_the_teams_trail_says_who_took_it(world: World) -> None:
    people = world.people
    with undone():
        with viewing_as(people.coach.pk):
            job = export_team(by=people.coach, team=people.team)
        with viewing_as(people.chief.pk):
            line = TrailLine.objects.get(on_id=job.pk)
            assert (line.team_id, line.by_id, line.did) == (
                people.team.pk,
                people.coach.pk,
                "asked_for",
            )


def test_erasing_a_driver_takes_the_archives_along(world: World) -> None:
    """An archive names all drivers of the team, so none is kept that names the erased one."""
    need_prints()
    people = world.people
    with undone():
        job = archive_of(people.coach, people.team).job
        with viewing_as(people.chief.pk):
            erase_driver(by=people.chief, driver=world.driver)
        assert not _still_there(people.coach, job)


def _page(world: World, who: str) -> str:
    client = Client()
    client.force_login(getattr(world.people, who))
    return one_line(client.get(reverse("exports")).content.decode())


def test_the_page_offers_what_is_ones_own(world: World) -> None:
    with undone():
        assert "Make the archive of Wrens" in _page(world, "chief")
        assert "what the team lets its coach see" in _page(world, "coach")
        assert "Nothing here is yours to take away" in _page(world, "guest")
        for who in ("official", "steward"):
            page = _page(world, who)
            assert "Make the archive" not in page
            assert reverse("records", args=[world.meeting.event.pk]) in page


def test_a_program_asks_reads_the_state_and_fetches(world: World) -> None:
    need_prints()
    client = Client()
    client.force_login(world.people.crew)
    with undone():
        made: Any = client.post(
            reverse("api-export-list"), {"team": world.people.team.pk}, "application/json"
        )
        assert (made.status_code, made.json()["state"], made.json()["file"]) == (
            201,
            "waiting",
            None,
        )
        make_print(made.json()["id"])
        there = client.get(reverse("api-export-detail", args=[made.json()["id"]])).json()
        assert there["state"] == "done"
        assert there["seen_as"] == "crew"
        file: Any = client.get(there["file"])
        assert file["Content-Type"] == "application/zip"
        assert len(b"".join(file.streaming_content)) == there["bytes"]
        assert client.get("/api/v1/exports/schema").json() == SCHEMA


def test_pictures_of_the_teams_ballast_are_files_beside_the_rows(full: Archive) -> None:
    photos = full.rows["ballast_photos"]
    assert photos
    for photo in photos:
        content = full.files[f"photos/{photo['sha256']}.jpg"]
        assert hashlib.sha256(content).hexdigest() == photo["sha256"]
