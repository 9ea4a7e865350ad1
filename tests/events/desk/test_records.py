"""The export of an event's records, and the command that says what was done to a file of it."""

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from cars.models import Measure
from clubsetup.access.errors import Invalid, NotAllowed
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.actions.ballast import check_ballast
from events.actions.draws import draw_cars
from events.actions.entries import renumber_entry
from events.actions.measuring import measure_car
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.voiding import void_weigh_in
from events.models.official import OfficialRecord
from events.records.actions.export import export_records
from events.records.queries.lines import OF_ENTRIES
from events.records.queries.records import records_of
from tests.events.desk.conftest import EVERYBODY, answers, expected
from tests.events.meeting import Meeting, mass
from tests.events.photographs import jpeg


@pytest.fixture
def kept(meeting: Meeting) -> Meeting:
    """A check of the scales, two weigh-ins, one of them void, and a look at a piece."""
    by = meeting.people.official
    with viewing_as(by.pk):
        check_scales(
            by=by,
            scale_set=meeting.scales,
            loads=[LoadRead(pad, mass("80"), mass("80")) for pad in ("LF", "RF", "LR", "RR")],
            pads_level=True,
        )
    wrong = meeting.weigh("325")
    meeting.weigh("321.4", entry=meeting.rival_entry)
    with viewing_as(by.pk):
        void_weigh_in(by=by, weigh_in=wrong, reason='Another\'s, "31", weight')
        draw_cars(by=by, event=meeting.event, seed="three sixes", count=1, purpose="Ballast")
        check_ballast(
            by=by,
            entry=meeting.entry,
            label_legible=True,
            label="27",
            fixed=True,
            place="rail",
            photo=jpeg(),
        )
        measure_car(
            by=by,
            entry=meeting.entry,
            measure=Measure.objects.get(pk="ride-height"),
            spot="LF",
            length=parse("2 5/16", Kind.LENGTH),
        )
    return meeting


def export(meeting: Meeting, kind: str) -> str:
    by = meeting.people.official
    with viewing_as(by.pk):
        return export_records(by=by, event=meeting.event, kind=kind)


def verify(folder: Path, text: str, kind: str, **more: str) -> tuple[bool, str]:
    """Whether the command finds it whole, and what it says."""
    file, out = folder / f"records.{kind}", io.StringIO()
    file.write_bytes(text.encode())
    try:
        call_command("verify_records", str(file), stdout=out, **more)
    except CommandError as problem:
        return False, f"{out.getvalue()}{problem}"
    return True, out.getvalue()


def line_of(meeting: Meeting, kind: str) -> int:
    """The first line of a kind."""
    with viewing_as(meeting.people.official.pk):
        links = records_of(meeting.event).links
    return next(link.number or 0 for link in links if link.record["kind"] == kind)


# What is in it


def test_every_kind_of_record_is_in_it(kept: Meeting) -> None:
    records = [one["record"] for one in json.loads(export(kept, "json"))["records"]]
    assert {r["kind"] for r in records} == {
        "scale_check",
        "weigh_in",
        "finding",
        "void",
        "ballast_check",
        "ballast_photo",
        "tech_reading",
        "draw",
    }
    assert [r["line"] for r in records] == list(range(1, len(records) + 1))
    assert {r["format"] for r in records} == {3}
    weigh_in = next(r for r in records if r["kind"] == "weigh_in")
    assert weigh_in["typed"] == {"car": "325"}
    assert weigh_in["by"] == str(kept.people.official.pk)


def test_no_kind_of_official_record_is_forgotten() -> None:
    assert set(OfficialRecord.__subclasses__()) == set(OF_ENTRIES.values())


def test_what_is_empty_is_left_out_so_that_a_new_column_changes_nothing(kept: Meeting) -> None:
    for one in json.loads(export(kept, "json"))["records"]:
        assert all(v not in (None, "", {}, []) and v is not False for v in one["record"].values())


def test_a_later_export_begins_with_the_earlier_one(kept: Meeting, tmp_path: Path) -> None:
    early = json.loads(export(kept, "json"))
    kept.weigh("322")
    with viewing_as(kept.people.official.pk):
        renumber_entry(by=kept.people.official, entry=kept.entry, number="28")
    later = json.loads(export(kept, "json"))
    assert [r["hash"] for r in later["records"]][: len(early["records"])] == [
        r["hash"] for r in early["records"]
    ]
    whole, said = verify(tmp_path, export(kept, "json"), "json", printed=early["last"])
    assert whole
    assert "lines were added since" in said


def test_another_events_records_are_not_in_it(kept: Meeting) -> None:
    text = export(kept, "json")
    assert str(kept.event.pk) in text
    with viewing_as(kept.people.official.pk):
        ids = {str(link.record["id"]) for link in records_of(kept.event).links}
    assert len(ids) == len(json.loads(text)["records"])


# What was done to a file


def test_a_file_as_written_is_whole(kept: Meeting, tmp_path: Path) -> None:
    text = export(kept, "json")
    whole, said = verify(tmp_path, text, "json")
    assert whole, said
    assert "all as written" in said
    # A spreadsheet's mark at the beginning and a mailer's line ends change nothing.
    assert verify(tmp_path, "\ufeff" + text, "json")[0]
    assert verify(tmp_path, text.replace("\n", "\r\n"), "json")[0]


ALTER: dict[str, Callable[[dict[str, Any]], None]] = {
    "weigh_in": lambda r: r.update(total="150"),
    "ballast_check": lambda r: r.update(fixed=False),
    "ballast_photo": lambda r: r.update(sha256="0" * 64),
    "finding": lambda r: r.update(outcome="fails"),
    "void": lambda r: r.update(reason="No reason"),
    "tech_reading": lambda r: r.update(value="60"),
    "draw": lambda r: r.update(drawn=["Junior 31", "Junior 27"]),
    "scale_check": lambda r: r.update(passed=False),
}


@pytest.mark.parametrize("altered", sorted(ALTER))
def test_each_kind_altered_is_named(kept: Meeting, tmp_path: Path, altered: str) -> None:
    whole = json.loads(export(kept, "json"))
    line = line_of(kept, altered)
    ALTER[altered](whole["records"][line - 1]["record"])
    ok, said = verify(tmp_path, json.dumps(whole), "json")
    assert not ok
    assert f"line {line}: " in said
    assert "altered" in said
    assert "1 fault in" in said


@pytest.mark.parametrize("missing", sorted(ALTER))
def test_each_kind_missing_is_named(kept: Meeting, tmp_path: Path, missing: str) -> None:
    whole = json.loads(export(kept, "json"))
    line = line_of(kept, missing)
    del whole["records"][line - 1]
    ok, said = verify(tmp_path, json.dumps(whole), "json")
    assert not ok
    assert f"line {line}: is missing" in said


def test_lines_changed_about_are_named(kept: Meeting, tmp_path: Path) -> None:
    whole = json.loads(export(kept, "json"))
    records = whole["records"]
    records[1], records[3] = records[3], records[1]
    ok, said = verify(tmp_path, json.dumps(whole), "json")
    assert not ok
    assert "out of order" in said


def test_the_end_cut_off_shows_against_the_book(kept: Meeting, tmp_path: Path) -> None:
    whole = json.loads(export(kept, "json"))
    book = whole["last"]
    whole["records"] = whole["records"][:-2]
    whole["last"] = whole["records"][-1]["hash"]
    text = json.dumps(whole)
    assert verify(tmp_path, text, "json")[0]
    ok, said = verify(tmp_path, text, "json", printed=book)
    assert not ok
    assert "printed hash" in said


@pytest.mark.parametrize("text", ["", "{}", "[1]", "a,b\n1,2\n", '{"head": 3, "records": 4}', "{"])
def test_what_is_no_export_is_said_plainly(tmp_path: Path, text: str) -> None:
    ok, said = verify(tmp_path, text, "json")
    assert not ok
    assert "no export of records" in said


# Who


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n not in ("official", "steward")])
def test_only_officials_and_stewards_of_the_club_export(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        export_records(by=who, event=meeting.event, kind="csv")


def test_who_is_let_in(kept: Meeting) -> None:
    allowed = expected(members=403, official=200, steward=200)
    for path in ("records", "records.csv", "records.json"):
        assert answers(kept, f"/events/{kept.event.pk}/{path}") == allowed
    assert answers(kept, f"/events/{kept.event.pk}/records.xml")["official"] == 404


def test_another_kind_of_file_is_refused(kept: Meeting) -> None:
    with pytest.raises(Invalid):
        export(kept, "xml")


def test_the_trail_says_who_took_them_away(client: Client, kept: Meeting) -> None:
    client.force_login(kept.people.official)
    page = client.get(f"/events/{kept.event.pk}/records.json")
    assert page.headers["Content-Disposition"].endswith('june-meeting-records.json"')
    last = json.loads(page.content)["last"]
    with viewing_as(kept.people.steward.pk):
        line = TrailLine.objects.get(did="exported")
    assert line.detail["last_hash"] == last
    assert last in client.get(f"/events/{kept.event.pk}/records").content.decode()
