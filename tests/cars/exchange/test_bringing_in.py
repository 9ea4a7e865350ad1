"""An archive brought in by a page or a program: under new ids, nothing lost, nothing claimed."""

import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django.plugin import DjangoDbBlocker

from cars.baselines.actions.chassis import add_chassis
from cars.exchange.files import archive_input
from cars.exchange.queries.archive_kinds import Section, archive_kinds
from cars.models import Car, ImportedArchive
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.runtime.embedded import Embedded
from events.models import Finding, WeighIn
from teams.actions.erasing import erase_driver
from teams.actions.places import add_track
from teams.models import Driver, Team
from tests.cars.exchange.instances import another_instance
from tests.cars.exchange.unpacked import Archive, archive_of
from tests.cars.garage import GEOMETRY
from tests.guards.world import standing_world, undone
from tests.here import need_prints
from tests.markup import one_line
from tests.people import People

# Whose a row is, and what of the club's it points at, is another here.
OF_PEOPLE = {
    *("by", "replaced_by", "opened_by", "closed_by", "taken_back_by", "struck_by"),
    *("done_by", "published_by"),
}
OF_CLUB = {"chassis", "race_class", "baseline", "track", "mount", "was_at", "now_at"}
APART = {"advice", "advice_replies", "imported_archives"}


@dataclass(frozen=True, repr=False)
class BroughtIn:
    """Another service, in which the chief of its Wrens has brought the archive in."""

    people: People
    source: Archive
    row: ImportedArchive
    archive: Archive  # taken away again


def zipped(archive: Archive) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in archive.files.items():
            packed.writestr(name, content)
    return out.getvalue()


def send(by: User, team: Team, content: bytes, name: str = "archive.zip") -> Any:
    client = Client()
    client.force_login(by)
    sent = {"file": SimpleUploadedFile(name, content)}
    return client.post(reverse("archive-bring-in", args=[team.pk]), sent, follow=True)


def errors_of(answer: Any) -> Any:
    return answer.context["form"].errors if answer.context and "form" in answer.context else ""


def says(answer: Any) -> str:
    return one_line(answer.content.decode())


@pytest.fixture(scope="module")
def there(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, embedded: Embedded
) -> Iterator[BroughtIn]:
    need_prints()
    with django_db_blocker.unblock():
        with standing_world() as world:
            source = archive_of(world.people.chief, world.people.team)
        with another_instance(embedded) as people:
            missing = says(send(people.chief, people.team, zipped(source)))
            assert "Fernbank Oval Club has no chassis named" in missing
            with viewing_as(people.steward.pk):
                for chassis in source.rows["chassis"]:
                    assert chassis["name"] in missing
                    name = chassis["name"]
                    add_chassis(by=people.steward, club=people.club, name=name, geometry=GEOMETRY)
                for track in source.rows["tracks"]:
                    add_track(
                        by=people.steward, club=people.club, name=track["name"], surface="paved"
                    )
            answer = send(people.chief, people.team, zipped(source))
            assert "came in" in says(answer), errors_of(answer)
            with viewing_as(people.chief.pk):
                row = ImportedArchive.objects.filter(team=people.team).latest("created_at")
            yield BroughtIn(people, source, row, archive_of(people.chief, people.team))


def team_rows(archive: Archive, ids: dict[str, str]) -> dict[str, list[dict[str, Any]]]:
    """With ids put back by `ids`, without what is another in another club."""
    text = json.dumps(archive.data["rows"][Section.TEAM])
    for here, before in ids.items():
        text = text.replace(here, before)
    found = json.loads(text)
    return {
        name: sorted(
            ({k: v for k, v in row.items() if k not in OF_PEOPLE | OF_CLUB} for row in found[name]),
            key=lambda row: str(row["id"]),
        )
        for name in found.keys() - APART
    }


def test_nothing_is_lost_but_the_ids(there: BroughtIn) -> None:
    ids = {new: old for kind in there.row.source_ids.values() for new, old in kind.items()}
    here, before = team_rows(there.archive, ids), team_rows(there.source, {})
    for comment in before["comments"]:
        comment["text"] = f"Coach: {comment['text']}"  # for it stands under another's name
    for name in before:
        assert here[name] == before[name], name


def test_all_ids_are_new(there: BroughtIn) -> None:
    """So that an id that somebody knows tells nothing of what is here."""
    text = json.dumps(there.archive.data["rows"][Section.TEAM] | {"imported_archives": []})
    for kind in archive_kinds(Section.TEAM):
        for row in there.source.rows[kind.name]:
            assert row["id"] not in text, kind.name


def test_it_stands_under_the_name_of_whoever_brought_it(there: BroughtIn) -> None:
    chief = str(there.people.chief.pk)
    rows = there.archive.data["rows"][Section.TEAM]
    by = {row[name] for kind in rows.values() for row in kind for name in OF_PEOPLE & row.keys()}
    assert by == {chief, None}


def test_official_records_are_attached_and_none_are_made(there: BroughtIn) -> None:
    record = there.row.attached["record"]
    assert record["findings"] == there.source.rows["findings"]
    assert record["weigh_ins"] == there.source.rows["weigh_ins"]
    assert record["advice"] == there.source.rows["advice"]
    with viewing_as(there.people.official.pk):
        assert not WeighIn.objects.exists()
        assert not Finding.objects.exists()
    assert all(rows == [] for rows in there.archive.data["rows"][Section.RECORD].values())


def test_its_cars_have_their_chassis_and_track_by_name(there: BroughtIn) -> None:
    with viewing_as(there.people.chief.pk):
        cars = Car.objects.filter(team=there.people.team).select_related("chassis")
        assert {car.chassis.club_id for car in cars} == {there.people.club.pk}
    names = {row["id"]: row["name"] for row in there.archive.rows["tracks"]}
    assert set(names.values()) <= {row["name"] for row in there.source.rows["tracks"]}


def test_the_same_archive_comes_in_once(there: BroughtIn) -> None:
    with undone():
        answer = says(send(there.people.chief, there.people.team, zipped(there.source)))
        assert "It is there already." in answer


def test_a_car_of_that_number_is_named(there: BroughtIn) -> None:
    data = there.source.data
    data["made_at"] = "2026-01-01T00:00:00Z"  # another archive
    with undone():
        answer = send(there.people.chief, there.people.team, json.dumps(data).encode(), "team.json")
        number = min(car["number"] for car in data["rows"]["team"]["cars"])
        assert f"Wrens has a car {number} already." in says(answer)


@pytest.mark.parametrize("who", ["guest", "coach", "steward", "official", "rival", "stranger"])
def test_nobody_else_brings_one_in_or_reads_what_came(there: BroughtIn, who: str) -> None:
    by: User = getattr(there.people, who)
    with undone():
        answer = send(by, there.people.team, zipped(there.source))
        assert answer.status_code in (403, 404)
        client = Client()
        client.force_login(by)
        for page in ("archive", "archive-attached"):
            assert client.get(reverse(page, args=[there.row.pk])).status_code == 404
        assert str(there.row.pk) not in client.get(reverse("exports")).content.decode()


def test_its_page_says_what_came(there: BroughtIn) -> None:
    client = Client()
    client.force_login(there.people.crew)
    page = says(client.get(reverse("archive", args=[there.row.pk])))
    assert "Archive of Wrens, Fernbank Oval Club" in page
    assert "No official record of this club." in page
    file = client.get(reverse("archive-attached", args=[there.row.pk])).json()
    assert file["record"]["findings"] == there.source.rows["findings"]
    assert there.row.source_ids == file["source_ids"]


def test_the_trail_says_so(there: BroughtIn) -> None:
    with viewing_as(there.people.chief.pk):
        line = TrailLine.objects.get(did="imported", on_id=there.row.pk)
        assert line.team_id == there.people.team.pk


def test_a_driver_who_is_erased_is_named_in_no_attachment(there: BroughtIn) -> None:
    named = there.source.rows["entries"][0]["display_name"]
    assert named in json.dumps(there.row.attached)
    with undone(), viewing_as(there.people.chief.pk):
        erase_driver(by=there.people.chief, driver=Driver.objects.get(display_name=named))
        attached = ImportedArchive.objects.get(pk=there.row.pk).attached
    assert named not in json.dumps(attached["record"])


@pytest.mark.parametrize(
    ("content", "answer"),
    [
        (b"no archive", "This is no JSON."),
        (b"[]", "This is no archive of a team."),
        (b'{"format": "clubsetup-team-archive", "version": 2}', "this service reads 1"),
        (b'{"format": "clubsetup-team-archive", "version": 1}', "not as its schema says"),
        (b"[" * 100_000, "This is no JSON."),
        (b'{"format": NaN}', "This is no JSON."),
    ],
)
def test_another_file_is_refused_with_the_reason(
    there: BroughtIn, content: bytes, answer: str
) -> None:
    with undone():
        assert answer in says(send(there.people.chief, there.people.team, content, "team.json"))


def test_a_small_zip_with_a_large_file_is_not_unpacked(
    there: BroughtIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("team.json", b" " * (archive_input.MOST_BYTES + 1))
    with undone():
        answer = says(send(there.people.chief, there.people.team, out.getvalue()))
    assert "is larger than 16 MB" in answer
    assert "manage.py import_archive" in answer


def test_a_program_sends_it_twice_and_it_comes_in_once(there: BroughtIn) -> None:
    data = there.source.data
    data["made_at"] = "2026-01-01T00:00:00Z"
    data["rows"]["team"] = {name: [] for name in data["rows"]["team"]}
    client = Client()
    client.force_login(there.people.crew)
    with undone():
        answers = [
            client.post(
                reverse("api-archive-list"),
                {
                    "id": "0197f000-0000-7000-8000-000000000009",
                    "team": there.people.team.pk,
                    "file": SimpleUploadedFile("team.json", json.dumps(data).encode()),
                },
            )
            for _ in range(2)
        ]
        assert [answer.status_code for answer in answers] == [201, 200]
        assert answers[0].json()["source_team"] == "Wrens"
        listed = client.get(reverse("api-archive-list")).json()["results"]
        assert len(listed) == 3
        assert "attached" not in listed[0]
        one = client.get(reverse("api-archive-detail", args=[there.row.pk])).json()
        assert one["source_ids"] == there.row.source_ids
        assert UUID(one["team"]) == there.people.team.pk
