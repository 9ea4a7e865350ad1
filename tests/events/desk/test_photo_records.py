"""Photos in the record chain, in the files taken away and in the record book."""

import csv
import hashlib
import io
import json
import zipfile
from base64 import b64decode
from pathlib import Path
from re import findall
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from events.printing.prints import record_book_html
from events.records.actions.export import export_records, export_with_photos
from events.records.actions.photos import photograph_ballast
from events.records.queries.records import records_of
from events.rules.photo import cleaned
from tests.events.desk.conftest import EVERYBODY, answers, expected
from tests.events.meeting import Meeting
from tests.events.photographs import TOLD, drawn, encoded, jpeg, seen, telling
from tests.events.test_ballast_checks import look


def add(meeting: Meeting, check: Any, photo: bytes) -> None:
    by = meeting.people.official
    with viewing_as(by.pk):
        photograph_ballast(by=by, ballast_check=check, photo=photo)


@pytest.fixture
def kept(meeting: Meeting) -> Meeting:
    """Two looks, the first of them with two photos, the second with one."""
    first = look(meeting, piece=None, photo=telling())
    add(meeting, first, jpeg(300, 400))
    look(meeting, photo=encoded(drawn(), "PNG"))
    return meeting


def export(meeting: Meeting, kind: str = "json") -> str:
    by = meeting.people.official
    with viewing_as(by.pk):
        return export_records(by=by, event=meeting.event, kind=kind)


def lines(meeting: Meeting) -> list[dict[str, Any]]:
    records = [one["record"] for one in json.loads(export(meeting))["records"]]
    return [record for record in records if record["kind"] == "ballast_photo"]


@pytest.fixture
def unpacked(kept: Meeting, tmp_path: Path) -> Path:
    """A folder with what the ZIP holds."""
    by = kept.people.official
    with viewing_as(by.pk), (tmp_path / "records.zip").open("w+b") as file:
        export_with_photos(by=by, event=kept.event, to=file)
    with zipfile.ZipFile(tmp_path / "records.zip") as packed:
        packed.extractall(tmp_path)
    return tmp_path


def verify(folder: Path, kind: str = "json", photos: str | None = "photos") -> tuple[bool, str]:
    """Whether the command finds all of it whole, and what it says."""
    out = io.StringIO()
    more = {"photos": folder / photos} if photos else {}
    try:
        call_command("verify_records", str(folder / f"records.{kind}"), stdout=out, **more)
    except CommandError as problem:
        return False, f"{out.getvalue()}{problem}"
    return True, out.getvalue()


def file_of(folder: Path, record: dict[str, Any]) -> Path:
    return folder / "photos" / f"{record['id']}.jpg"


# The chain


def test_each_photo_is_a_line_with_its_hash_and_without_its_picture(kept: Meeting) -> None:
    first, second, third = lines(kept)
    assert set(first) == {
        *("kind", "line", "format", "id", "created_at", "entry", "club", "team", "by"),
        *("ballast_check", "number", "width", "height", "sha256"),
    }
    assert first["sha256"] == cleaned(telling()).sha256
    assert [(p["number"], p["width"]) for p in (first, second, third)] == [
        (1, 400),
        (2, 300),
        (1, 400),
    ]
    assert first["ballast_check"] == second["ballast_check"] != third["ballast_check"]


def test_the_table_names_its_file(kept: Meeting) -> None:
    text = export(kept, "csv").removeprefix("\ufeff")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    named = [row for row in rows if row["Record"] == "Photo of ballast"]
    assert [row["Photo"] for row in named] == [f"{one['id']}.jpg" for one in lines(kept)]
    assert {row["Number"] for row in named} == {"27"}


def test_a_photo_added_alters_no_line_before_it(meeting: Meeting) -> None:
    meeting.weigh("321")
    check = look(meeting)
    before = json.loads(export(meeting))["records"]
    add(meeting, check, jpeg())
    after = json.loads(export(meeting))["records"]
    assert after[: len(before)] == before
    assert [one["record"]["kind"] for one in after[len(before) :]] == ["ballast_photo"]


def test_the_chain_does_not_load_the_pictures(kept: Meeting) -> None:
    with viewing_as(kept.people.official.pk), CaptureQueriesContext(connection) as queries:
        records_of(kept.event)
    assert not any("events_ballastphoto" in query["sql"] for query in queries)


def test_entering_a_photo_reads_no_picture_back(meeting: Meeting) -> None:
    check = look(meeting)
    with CaptureQueriesContext(connection) as queries:
        add(meeting, check, jpeg())
    asked = [q["sql"] for q in queries if q["sql"].startswith('SELECT "events_ballastphoto')]
    assert asked
    assert not any('"picture"' in sql or '"small"' in sql for sql in asked)


# The files, and what was done to them


def test_the_zip_holds_both_files_and_every_photo(unpacked: Path) -> None:
    whole, said = verify(unpacked)
    assert whole, said
    assert (unpacked / "records.csv").exists()
    assert "3 photos, all as they were kept." in said
    assert len(list((unpacked / "photos").iterdir())) == 3


def test_the_photos_in_it_tell_nothing_more(unpacked: Path) -> None:
    for file in (unpacked / "photos").iterdir():
        assert not any(told in file.read_bytes() for told in TOLD)
        assert seen(file.read_bytes()).format == "JPEG"


def test_the_files_in_the_zip_are_those_taken_alone(kept: Meeting, unpacked: Path) -> None:
    assert (unpacked / "records.json").read_text() == export(kept)
    assert (unpacked / "records.csv").read_bytes().decode() == export(kept, "csv")


def test_without_their_folder_the_photos_are_told_of(unpacked: Path) -> None:
    whole, said = verify(unpacked, photos=None)
    assert whole
    assert "3 photos are named in it" in said


def test_an_altered_photo_is_named(kept: Meeting, unpacked: Path) -> None:
    record = lines(kept)[1]
    file_of(unpacked, record).write_bytes(cleaned(jpeg(300, 200)).picture)
    whole, said = verify(unpacked)
    assert not whole
    assert f"line {record['line']}: its photo was altered" in said
    assert "1 fault in" in said


def test_photos_changed_about_are_both_named(kept: Meeting, unpacked: Path) -> None:
    one, other = (file_of(unpacked, record) for record in lines(kept)[:2])
    content = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(content)
    assert "2 faults" in verify(unpacked)[1]


def test_a_missing_photo_is_named(kept: Meeting, unpacked: Path) -> None:
    record = lines(kept)[2]
    file_of(unpacked, record).unlink()
    whole, said = verify(unpacked)
    assert not whole
    assert f"line {record['line']}: has no photo" in said


def test_a_photo_that_no_line_names_is_named(unpacked: Path) -> None:
    (unpacked / "photos" / "planted.jpg").write_bytes(jpeg())
    whole, said = verify(unpacked)
    assert not whole
    assert "planted.jpg: no line names it" in said


def test_a_photo_altered_with_its_line_breaks_the_chain(kept: Meeting, unpacked: Path) -> None:
    record = lines(kept)[0]
    other = cleaned(jpeg(300, 200)).picture
    file_of(unpacked, record).write_bytes(other)
    text = (unpacked / "records.json").read_text()
    text = text.replace(record["sha256"], hashlib.sha256(other).hexdigest())
    (unpacked / "records.json").write_text(text)
    whole, said = verify(unpacked)
    assert not whole
    assert f"line {record['line']}: was altered" in said


def test_a_folder_that_is_not_there_is_said(unpacked: Path) -> None:
    whole, said = verify(unpacked, photos="elsewhere")
    assert not whole
    assert "elsewhere is no folder" in said


# Taking them away


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n not in ("official", "steward")])
def test_only_officials_and_stewards_of_the_club_take_them_away(kept: Meeting, name: str) -> None:
    who, out = getattr(kept.people, name), io.BytesIO()
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        export_with_photos(by=who, event=kept.event, to=out)
    assert out.getvalue() == b""


def test_who_is_let_in_and_what_is_said_of_it(client: Client, kept: Meeting) -> None:
    where = f"/events/{kept.event.pk}/records.zip"
    assert answers(kept, where) == expected(members=403, official=200, steward=200)
    client.force_login(kept.people.official)
    answer = client.get(where)
    assert answer.headers["Content-Type"] == "application/zip"
    assert answer.headers["Content-Disposition"].endswith('june-meeting-records.zip"')
    assert answer.headers["Cache-Control"] == "private, no-store"
    packed = zipfile.ZipFile(io.BytesIO(b"".join(answer)))
    assert packed.testzip() is None
    assert len(packed.namelist()) == 2 + 3
    with viewing_as(kept.people.steward.pk):
        line = TrailLine.objects.filter(did="exported").latest("created_at")
    assert line.detail["file"] == "zip"


# The record book


def test_the_book_shows_each_photo_small_with_the_hash_of_the_file(kept: Meeting) -> None:
    by = kept.people.official
    with viewing_as(by.pk), CaptureQueriesContext(connection) as queries:
        book = record_book_html(kept.event, by)
    shown = [b64decode(data) for data in findall(r"data:image/jpeg;base64,([^\"]+)", book)]
    assert [max(seen(content).size) for content in shown] == [320, 320, 320]
    for record in lines(kept):
        digits = record["sha256"]
        assert " ".join(digits[n : n + 8] for n in range(0, 64, 8)) in book
    assert not any('"picture"' in query["sql"] for query in queries)
