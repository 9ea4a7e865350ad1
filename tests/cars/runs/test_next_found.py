"""The next sheet as found, after a day at the track: what was changed, and what it leaves of last
time's figures."""

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from cars.bench.actions import start_bench
from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.garage.actions.parts import add_part
from cars.models import PartFitted, Reading, Sheet, TrackChange
from cars.plans.queries.drift import car_drift
from cars.runs.actions.track_changes import note_track_change, put_back, take_back_track_change
from cars.runs.actions.track_readings import take_track_readings
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from cars.sheets.queries.at_track import changed_before, figures_at_track
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from tests.cars.plans.evening import Evening
from tests.markup import one_line
from tests.people import People


def changed(evening: Evening, adjuster: str, spot: str, amount: str, unit: str) -> TrackChange:
    return note_track_change(
        by=evening.by,
        sheet=evening.sheet,
        adjuster=adjuster,
        spot=spot,
        amount=Decimal(amount),
        unit=unit,
    )


@pytest.fixture
def raced(evening: Evening) -> Evening:
    """Set and closed; at the track a seat was turned and a tyre blown up."""
    with viewing_as(evening.by.pk):
        evening.take({"pressure.LR": "12", "caster.left": "5", "circumference.RF": "34"})
        close_sheet(by=evening.by, sheet=evening.sheet)
        changed(evening, "spring-seat", "RF", "0.5", "turn")
        changed(evening, "pressure", "LR", "1", "psi")
    return evening


def found(raced: Evening, **given: Any) -> Sheet:
    return start_bench(
        by=raced.by, car=raced.garage.car, role="found", made_on=date(2026, 3, 21), **given
    )


def page(client: Client, raced: Evening, path: str) -> str:
    client.force_login(raced.by)
    return one_line(client.get(path).content.decode())


def last_set(html: str, box: str) -> str:
    """What the bench says was set last time in that box."""
    more = (
        html.split(f'data-of="{box}"')[1]
        .split("</div> </dl>", maxsplit=1)[0]
        .split("data-of=", maxsplit=1)[0]
    )
    told = re.search(r"<dt>(?:last time: )?set</dt>\s*<dd[^>]*>(.*?)</dd>", more)
    return re.sub(r"<[^>]*>", "", told[1]) if told else ""


def test_it_tells_what_was_changed_and_what_that_touched(client: Client, raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        sheet = found(raced)
        lines = changed_before(sheet)
        assert lines is not None
        known = catalogue()
        assert lines.since == raced.sheet
        assert lines.touches(Key("weight", "LF"), known)
        assert not lines.touches(Key("caster", "left"), known)
    for path in (f"/sheets/{sheet.pk}/", f"/sheets/{sheet.pk}/bench/ride-heights/"):
        html = page(client, raced, path)
        assert "spring seat RF +1/2 turn, pressure LR +1 psi" in html
        again = html.split("To be taken again: ")[1].split(".")[0]
        assert "ride height" in again
        assert "caster" not in again
        assert f'href="/sheets/{raced.sheet.pk}/"' in html
    told = client.get(f"/api/v1/sheets/{sheet.pk}/at-track").json()
    assert told["since"] == str(raced.sheet.pk)
    assert [change["adjuster"] for change in told["changes"]] == ["spring-seat", "pressure"]
    assert "weight.LF" in told["again"]
    figures = {one["box"]: one["quantity"] for one in told["figures"]}
    assert float(figures["pressure.LR"]["value"]) == pytest.approx(13 * 6.894757293168361)
    # The sheet as set itself says nothing of it, nor does one that is found later still.
    assert "At the track, since" not in page(client, raced, f"/sheets/{raced.sheet.pk}/")


def test_last_times_figures_follow(client: Client, raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        sheet = found(raced)
        now = figures_at_track(raced.sheet, raced.by, timezone.now())
    tyres = page(client, raced, f"/sheets/{sheet.pk}/bench/tyres/")
    assert last_set(tyres, "pressure.LR") == "13"
    scales = page(client, raced, f"/sheets/{sheet.pk}/bench/scales/")
    was = raced.typed()["weight.RF"]
    figure = now[Key("weight", "RF")]
    assert figure is not None
    assert float(last_set(scales, "weight.RF").removeprefix("about ")) == pytest.approx(
        float(figure.value) / 0.45359237, abs=0.3
    )
    assert last_set(scales, "weight.RF") != was
    # Not touched: as it was set. And what nothing but reading tells is told no more.
    kingpin = page(client, raced, f"/sheets/{sheet.pk}/bench/kingpin/")
    assert last_set(kingpin, "caster.left") == "5"
    with viewing_as(raced.by.pk):
        changed(raced, "tyre", "RF", "1", "1")
        take_back_track_change(
            by=raced.by, change=TrackChange.objects.filter(adjuster="tyre").get()
        )


def test_what_was_read_again_there_is_last_times_figure(client: Client, raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        read = {Key("pressure", "LR"): parse("12.5", Kind.PRESSURE)}
        take_track_readings(by=raced.by, sheet=raced.sheet, readings=read)
        sheet = found(raced)
    tyres = page(client, raced, f"/sheets/{sheet.pk}/bench/tyres/")
    assert last_set(tyres, "pressure.LR") == "12.5"


def test_what_was_put_back_or_never_made_is_not_there(client: Client, raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        seat = TrackChange.objects.get(adjuster="spring-seat")
        put_back(by=raced.by, sheet=raced.sheet, changes=[seat.pk])
        sheet = found(raced)
        assert [str(c) for c in changed_before(sheet).changes] == ["pressure LR 1.0000 psi"]  # type: ignore[union-attr]
        # A slip that is seen afterwards is gone there too; what is changed later never was there.
        take_back_track_change(by=raced.by, change=TrackChange.objects.get(adjuster="pressure"))
        assert changed_before(sheet) is None
        changed(raced, "pressure", "LF", "2", "psi")
        assert changed_before(sheet) is None


def test_a_corrected_sheet_keeps_it(raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        sheet = found(raced)
        correct_sheet(by=raced.by, sheet=raced.sheet, reason="Misread.")
        raced.sheet = sheet
        raced.take({"caster.left": "5"})
        close_sheet(by=raced.by, sheet=sheet)
        again = correct_sheet(by=raced.by, sheet=sheet, reason="Misread too.")
        for each in (sheet, again):
            lines = changed_before(each)
            assert lines is not None
            assert len(lines.changes) == 2


def test_what_it_follows_is_carried_but_for_what_was_touched(
    raced: Evening, people: People
) -> None:
    with viewing_as(raced.by.pk):
        tyres = {
            spot: add_part(by=raced.by, team=people.team, sort="tyre", code=f"T-{spot}")
            for spot in ("LF", "RF")
        }
        version = correct_sheet(by=raced.by, sheet=raced.sheet, reason="Which tyres were on.")
        for spot, part in tyres.items():
            fit_part(
                by=raced.by, sheet=version, sort="tyre", spot=spot, part=part, seen=OVER_ANYTHING
            )
        close_sheet(by=raced.by, sheet=version)
        raced.sheet = version
        changed(raced, "tyre", "RF", "1", "1")
        sheet = open_sheet(
            by=raced.by, car=raced.garage.car, role="found", based_on=version, with_readings=True
        )
        boxes = set(Reading.objects.filter(sheet=sheet).values_list("measure", "spot"))
        assert ("caster", "left") in boxes
        assert {"weight", "ride-height"}.isdisjoint(measure for measure, _ in boxes)
        assert ("pressure", "LR") not in boxes
        assert ("circumference", "RF") not in boxes
        fitted = PartFitted.objects.filter(sheet=sheet).values_list("spot", flat=True)
        assert list(fitted) == ["LF"]
        # A target sheet is nobody's car: it takes all.
        target = open_sheet(
            by=raced.by, car=raced.garage.car, role="target", based_on=version, with_readings=True
        )
        assert Reading.objects.filter(sheet=target, measure="weight").count() == 4


def test_targets_that_are_the_sheet_as_set_follow(client: Client, raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        sheet = found(raced, target=raced.sheet)
        raced.sheet = sheet
        raced.take({"pressure.LR": "13", "caster.left": "5"})
    html = page(client, raced, f"/sheets/{sheet.pk}/bench/tyres/")
    box = html.split('data-of="pressure.LR"')[1].split("data-of=")[0]
    assert re.search(r"<dt>target</dt><dd[^>]*>13", box.replace(" <", "<")) or "13" in box
    whole = page(client, raced, f"/sheets/{sheet.pk}/")
    assert "1 psi high" not in whole


def test_it_is_no_drift(raced: Evening) -> None:
    with viewing_as(raced.by.pk):
        sheet = found(raced)
        raced.sheet = sheet
        raced.take({"pressure.LR": "13", "caster.left": "5 1/2", "weight.RF": "90"})
        close_sheet(by=raced.by, sheet=sheet)
        moved = {each.place.measure for each in car_drift(raced.garage.car, catalogue()).drifts}
    assert moved == {"caster"}


def test_a_day_later_another_sheet_begins_anew(raced: Evening) -> None:
    """A sheet as set in between: nothing was changed at the track since that one."""
    with viewing_as(raced.by.pk):
        later = open_sheet(
            by=raced.by,
            car=raced.garage.car,
            role="set",
            made_on=date(2026, 3, 14) + timedelta(days=1),
            surface="paved",
        )
        assert later.role == Sheet.Role.SET
        assert changed_before(found(raced)) is None
