"""The table of an event's records, to read: a row a record, a column a figure."""

import csv
import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from cars.models import Measure
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.actions.ballast import check_ballast, check_no_ballast
from events.actions.draws import draw_cars
from events.actions.entries import renumber_entry
from events.actions.measuring import measure_car
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.voiding import void_weigh_in
from events.records.actions.export import export_records
from tests.events.meeting import Meeting, mass, pads


def table(meeting: Meeting) -> list[dict[str, str]]:
    by = meeting.people.official
    with viewing_as(by.pk):
        text = export_records(by=by, event=meeting.event, kind="csv")
    assert text.startswith("\ufeff")  # a spreadsheet then reads the letters right
    return list(csv.DictReader(io.StringIO(text[1:], newline="")))


def of(meeting: Meeting, record: str) -> list[dict[str, str]]:
    return [row for row in table(meeting) if row["Record"] == record]


def test_weights_and_outcomes_come_first(meeting: Meeting) -> None:
    meeting.weigh("321.4", fuel_note="full")
    headings = list(table(meeting)[0])
    assert headings[:7] == [
        *("Number", "Name", "Class", "Record", "Total (lb)", "Outcome", "No longer stands")
    ]
    assert headings[-2:] == ["By", "Line"]


def test_a_weigh_in_in_figures_and_words(meeting: Meeting) -> None:
    meeting.weigh(pads=pads("80.2", "79.8", "81", "80"), fuel_note="full")
    row = of(meeting, "Weigh-in")[0]
    assert (row["Number"], row["Name"], row["Class"]) == ("27", "Robin", "Junior")
    each = [row[f"{spot} (lb)"] for spot in ("LF", "RF", "LR", "RR")]
    assert each == ["80.2", "79.8", "81", "80"]
    assert row["Total (lb)"] == "321"
    # sqrt(4) pads of 0.2 lb / sqrt(12)
    assert row["Standard uncertainty of the total (lb)"] == "0.115"
    assert (row["Stage"], row["Driver in"], row["Tank empty"]) == ("Before the race", "yes", "no")
    assert (row["Fuel"], row["Scales"], row["Line"]) == ("full", "Four pads", "1")
    assert row["As typed"] == "LF 80.2; RF 79.8; LR 81; RR 80"


def test_figures_are_in_the_readers_units(meeting: Meeting) -> None:
    by = meeting.people.official
    by.preferred_units = {"mass": "kg"}
    with viewing_as(by.pk):
        by.save()
    meeting.weigh("145.8 kg")
    assert of(meeting, "Weigh-in")[0]["Total (kg)"] == "145.8"


def test_what_no_longer_stands_says_so(meeting: Meeting) -> None:
    wrong = meeting.weigh("325")
    with viewing_as(meeting.people.official.pk):
        void_weigh_in(by=meeting.people.official, weigh_in=wrong, reason="Another's weight")
    rows = table(meeting)
    weigh_in, void = of(meeting, "Weigh-in")[0], of(meeting, "Void")[0]
    assert weigh_in["No longer stands"] == f"void, line {void['Line']}"
    assert (void["Takes out line"], void["Reason"]) == (weigh_in["Line"], "Another's weight")
    findings = [(row["Outcome"], row["No longer stands"]) for row in rows if row["Outcome"]]
    assert [gone for _, gone in findings] == ["a later finding took its place"] * 3 + [""] * 3
    assert findings[0][0] == "Meets"
    assert findings[3][0] == "Not checked"


def test_every_other_kind_in_figures_and_words(meeting: Meeting) -> None:
    by = meeting.people.official
    loads = [LoadRead(pad, mass("80"), mass("80.2")) for pad in ("LF", "RF", "LR", "RR")]
    with viewing_as(by.pk):
        check_scales(by=by, scale_set=meeting.scales, loads=loads, pads_level=True)
        check_ballast(
            by=by,
            entry=meeting.entry,
            label_legible=True,
            label="27",
            fixed=False,
            marked_mass=mass("4 lb"),
            weighed_mass=mass("4.1 lb"),
            place="rail",
        )
        check_no_ballast(by=by, entry=meeting.rival_entry)
        measure_car(
            by=by,
            entry=meeting.entry,
            measure=Measure.objects.get(pk="ride-height"),
            spot="LF",
            length=parse("2 5/16", Kind.LENGTH),
        )
        draw_cars(by=by, event=meeting.event, seed="three sixes", count=1, purpose="Ballast")
    scales = of(meeting, "Check of the scales")[0]
    assert (scales["Outcome"], scales["Division (lb)"]) == ("Passed", "0.200")
    assert scales["Largest error (lb)"] == "0.200"
    piece, none = of(meeting, "Ballast check")
    assert (piece["Label"], piece["Marked (lb)"], piece["Fixed"]) == ("27", "4", "no")
    assert piece["As typed"] == "marked 4 lb; weighed 4.1 lb"
    assert (piece["Ballast on the car"], none["Ballast on the car"]) == ("a piece", "none")
    length = of(meeting, "Length measured")[0]
    assert (length["Length (in)"], length["Where on the car"]) == ("2.3125", "LF")
    draw = of(meeting, "Draw")[0]
    assert (draw["Seed"], draw["Reason"]) == ("three sixes", "Ballast")


def test_no_cell_holds_json_and_every_line_is_there(meeting: Meeting) -> None:
    meeting.weigh(pads=pads("80.2", "79.8", "81", "80"))
    rows = table(meeting)
    assert not [cell for row in rows for cell in row.values() if cell[:1] in "{[" and cell]
    assert [row["Line"] for row in rows] == [str(n) for n in range(1, len(rows) + 1)]


FORMULAS = ["=1+2", "+1", "-1+2", "@SUM(A1)", " =1+2", "\t=1", "\uff1d1+2"]


@pytest.mark.parametrize("text", FORMULAS)
def test_text_is_no_formula_in_a_spreadsheet(meeting: Meeting, text: str) -> None:
    by = meeting.people.official
    wrong = meeting.weigh("321")
    with viewing_as(by.pk):
        check_ballast(by=by, entry=meeting.entry, label_legible=True, label=f"{text}.", fixed=True)
        void_weigh_in(by=by, weigh_in=wrong, reason=f"{text}!")
    row = of(meeting, "Ballast check")[0]
    assert row["Label"] == f"'{text.strip()}."
    assert of(meeting, "Void")[0]["Reason"] == f"'{text.strip()}!"


def test_nor_is_a_number_of_a_car(meeting: Meeting) -> None:
    meeting.weigh("321")
    with viewing_as(meeting.people.official.pk):
        meeting.entry.number = "=1+2"
        meeting.entry.save(update_fields=["number"])
    assert {row["Number"] for row in table(meeting)} == {"'=1+2"}


def test_it_is_told_from_the_file_to_verify(meeting: Meeting, tmp_path: Path) -> None:
    meeting.weigh("321")
    by = meeting.people.official
    with viewing_as(by.pk):
        text = export_records(by=by, event=meeting.event, kind="csv")
    (tmp_path / "records.csv").write_bytes(text.encode())
    with pytest.raises(CommandError, match="Give the JSON file: it holds the chain"):
        call_command("verify_records", str(tmp_path / "records.csv"))


def test_a_number_given_later_stands_on_every_row(meeting: Meeting) -> None:
    meeting.weigh("321")
    with viewing_as(meeting.people.official.pk):
        renumber_entry(by=meeting.people.official, entry=meeting.entry, number="28")
    assert {row["Number"] for row in table(meeting)} == {"28"}
