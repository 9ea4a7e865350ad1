"""The bench as plain pages: every step without any script, and who sees them."""

import html
import re
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.models import Change, Measure, Sheet, Step
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_track
from tests.cars.bench.conftest import Post, Standing, as_user
from tests.cars.filling import everything
from tests.markup import one_line, plain, tight
from tests.people import People

STEPS = (
    *("tyres", "springs-dampers", "rear-axle", "front-axle", "kingpin", "steering"),
    *("lead", "ride-heights", "scales", "ballast", "gearing", "last-check"),
)


def path(sheet: Sheet, step: str = "ride-heights") -> str:
    return f"/sheets/{sheet.pk}/bench/{step}/"


def seen(page: str) -> str:
    """What the page says stood in its boxes."""
    match = re.search(r'name="seen" value="([^"]*)"', page)
    assert match
    return html.unescape(match[1])


def fill(client: Client, sheet: Sheet, step: str = "ride-heights", **more: Any) -> Any:
    """Opens the page, writes in it, and sends it as a browser without script does."""
    page = client.get(path(sheet, step)).content.decode()
    return lambda boxes: client.post(path(sheet, step), {"seen": seen(page), **boxes, **more})


@pytest.mark.parametrize("step", STEPS)
def test_every_step_says_what_where_why_and_draws_it(
    crew: Client, sheet: Sheet, db: None, step: str
) -> None:
    page = crew.get(path(sheet, step)).content.decode()
    row = Step.objects.get(pk=step)
    drawing = re.search(r'<svg class="drawing".*?</svg>', page, re.S)
    assert drawing
    for place, measure in enumerate(Measure.objects.filter(step=step).order_by("order")):
        assert html.escape(measure.name) in page
        assert html.escape(measure.where) in page
        letter = chr(ord("A") + place)
        assert f">{letter}</text>" in drawing[0], f"{measure.name} is not marked on the drawing"
        for spot in measure.spots:
            assert (f'name="{measure.pk}.{spot}"' in page) == (measure.taken != "derived")
    for text in (row.why_here, row.caution):
        assert html.escape(text) in page
    assert 'style="' not in page
    assert "<script>" not in page


def test_there_is_a_drawing_for_each_step_of_the_catalogue(db: None) -> None:
    assert tuple(Step.objects.values_list("slug", flat=True)) == STEPS


def test_the_later_steps_that_a_change_makes_stale_are_named(crew: Client, sheet: Sheet) -> None:
    page = crew.get(path(sheet, "lead")).content.decode()
    assert "Steering, Ride heights, Scales, Last check" in page


def test_fields_are_labelled_and_laid_out_like_the_car_from_above(
    crew: Client, sheet: Sheet
) -> None:
    page = crew.get(path(sheet)).content.decode()
    assert "lay-corners" in page
    order = re.findall(r'name="ride-height\.(LF|RF|LR|RR)"', page)
    assert order == ["LF", "RF", "LR", "RR"]
    inputs = set(re.findall(r'<input class="number" id="([^"]+)"', page))
    assert inputs <= set(re.findall(r'<label for="([^"]+)"', page))
    assert len(inputs) == 12  # three takes at each corner


def test_what_could_not_be_kept_is_not_counted_as_off(crew: Client, sheet: Sheet) -> None:
    def save(text: str) -> str:
        headers = {"HX-Request": "true", "HX-Trigger-Name": "ride-height.LF"}
        boxes = {"ride-height.LF": text}
        answer = crew.post(f"/sheets/{sheet.pk}/readings", boxes, headers=headers)
        return str(
            tight(answer.content.decode())
            .split('id="t-ride-heights"')[1]
            .split("</span></span>")[0]
        )

    refused = fill(crew, sheet)({"ride-height.LF": "11 furlong"}).content.decode()
    assert 'value="11 furlong"' in refused
    assert "1 off" not in refused
    assert " off" not in save("11 furlong")
    # What stands and is off stays so, whatever was refused after it.
    assert "1 off" in save("2 5/8")
    assert "1 off" in save("11 furlong")


def test_the_last_found_and_left_figures_stand_beside(
    people: People, garage: Any, crew: Client
) -> None:
    with viewing_as(people.crew.pk):
        for role, height in (("found", "2 1/16"), ("set", "2 5/16"), ("set", "2 1/2")):
            before = garage.sheet(people.crew, role=role)
            take_typed(by=people.crew, sheet=before, typed={"ride-height.LF": height})
            close_sheet(by=people.crew, sheet=before)
        sheet = garage.sheet(people.crew)
    page = tight(crew.get(path(sheet)).content.decode())
    assert re.search(r"<dt>last time: found</dt><dd[^>]*>2 1/16<", page)
    assert re.search(r"last time: found, set \d+ \w+ \d{4}", page)
    assert "another surface" not in page
    assert re.search(r"<dt>set</dt><dd[^>]*>2 1/2<", page)
    assert re.search(r"<dt>target</dt><dd[^>]*>2 1/4 ± 1/16<", page)


def test_the_step_says_once_where_the_figures_beside_come_from(
    people: People, garage: Any, crew: Client
) -> None:
    def closed(role: str, day: int, surface: str) -> None:
        before = open_sheet(
            by=people.crew,
            car=garage.car,
            role=role,
            made_on=date(2026, 3, day),
            surface=surface,
            track=track,
        )
        take_typed(by=people.crew, sheet=before, typed={"ride-height.LF": "2 1/4"})
        close_sheet(by=people.crew, sheet=before)

    def said() -> list[str]:
        with viewing_as(people.crew.pk):
            sheet = garage.sheet(people.crew)
        page = one_line(crew.get(path(sheet)).content.decode())
        assert "last time" not in crew.get(path(sheet, "scales")).content.decode()
        return [
            re.sub(r"<[^>]+>", "", line) for line in re.findall(r"<p[^>]*> ?(last .*?) ?</p>", page)
        ]

    with viewing_as(people.steward.pk):
        track = add_track(
            by=people.steward, club=garage.car.team.club, name="Quarry Lane", surface="paved"
        )
    with viewing_as(people.crew.pk):
        closed("found", 11, "paved")
        closed("set", 13, "paved")
    assert said() == ["last time: found 11, set 13 Mar 2026, Quarry Lane"]
    with viewing_as(people.crew.pk):
        closed("set", 14, "dirt")
    assert said() == [
        "last time: found 11 Mar 2026, Quarry Lane",
        "last time: set 14 Mar 2026, Quarry Lane (another surface: dirt)",
    ]


class TestThePlainForm:
    def test_saves_what_was_written_and_goes_on(
        self, crew: Client, sheet: Sheet, standing: Standing
    ) -> None:
        send = fill(crew, sheet)
        answer = send({"ride-height.LF": "2 1/4", "ride-height.RF": "60 mm", "go": "scales"})
        assert answer["Location"] == path(sheet, "scales")
        assert standing() == {"ride-height.LF": "2 1/4", "ride-height.RF": "60 mm"}

    def test_keeps_what_cannot_be_kept_with_what_to_do(
        self, crew: Client, sheet: Sheet, standing: Standing
    ) -> None:
        answer = fill(crew, sheet)({"ride-height.LF": "46 9/7", "ride-height.RF": "2 3/8"})
        page = answer.content.decode()
        assert answer.status_code == 400
        assert 'value="46 9/7"' in page
        assert "not less than one" in page
        assert 'aria-invalid="true"' in page
        assert standing() == {"ride-height.RF": "2 3/8"}
        # Mended and sent again, the rest stays as it is.
        mended = {"seen": seen(page), "ride-height.LF": "2", "ride-height.RF": "2 3/8"}
        crew.post(path(sheet), mended)
        assert standing() == {"ride-height.LF": "2", "ride-height.RF": "2 3/8"}

    def test_puts_a_conflict_to_the_person_keep_theirs(
        self, crew: Client, chief: Client, sheet: Sheet, standing: Standing
    ) -> None:
        mine, theirs = fill(crew, sheet), fill(chief, sheet)
        theirs({"ride-height.LF": "2 3/8"})
        answer = mine({"ride-height.LF": "2 1/4", "ride-height.RF": "2 1/2"})
        page = answer.content.decode()
        assert answer.status_code == 409
        assert "Chief wrote 2 3/8 a moment ago; you typed 2 1/4." in page
        assert "Keep theirs" in page
        assert standing() == {"ride-height.LF": "2 3/8", "ride-height.RF": "2 1/2"}
        again = {"seen": seen(page), "ride-height.LF": "2 1/4", "ride-height.RF": "2 1/2"}
        crew.post(path(sheet), {**again, "theirs": "ride-height.LF"})
        assert standing()["ride-height.LF"] == "2 3/8"

    def test_puts_a_conflict_to_the_person_use_mine(
        self, crew: Client, chief: Client, sheet: Sheet, standing: Standing
    ) -> None:
        mine, theirs = fill(crew, sheet), fill(chief, sheet)
        theirs({"ride-height.LF": "2 3/8"})
        page = mine({"ride-height.LF": "2 1/4"}).content.decode()
        crew.post(path(sheet), {"seen": seen(page), "ride-height.LF": "2 1/4"})
        assert standing()["ride-height.LF"] == "2 1/4"

    def test_does_not_undo_what_others_wrote_in_boxes_left_alone(
        self, crew: Client, chief: Client, sheet: Sheet, standing: Standing
    ) -> None:
        mine = fill(crew, sheet)
        fill(chief, sheet)({"ride-height.LF": "2 3/8"})
        mine({"ride-height.LF": "", "ride-height.RR": "2 1/2"})
        assert standing() == {"ride-height.LF": "2 3/8", "ride-height.RR": "2 1/2"}

    def test_puts_back_what_stood_before(
        self, crew: Client, sheet: Sheet, standing: Standing
    ) -> None:
        fill(crew, sheet)({"ride-height.LF": "2 1/4"})
        fill(crew, sheet)({"ride-height.LF": "2 3/8"})
        page = tight(crew.get(path(sheet)).content.decode())
        assert ">2 1/4</span>" in page.partition("Put back")[2][:60]
        fill(crew, sheet)({"ride-height.LF": "2 3/8", "undo": "ride-height.LF"})
        assert standing() == {"ride-height.LF": "2 1/4"}

    def test_a_gauge_read_twice_shows_mean_and_spread(
        self, crew: Client, sheet: Sheet, standing: Standing
    ) -> None:
        fill(crew, sheet)({"ride-height.LF": "2 1/4", "ride-height.LF.2": "2 3/8"})
        assert standing() == {"ride-height.LF": "2 1/4", "ride-height.LF.2": "2 3/8"}
        page = crew.get(path(sheet)).content.decode()
        assert "mean 2 5/16 in of 2, spread 1/8 in" in page
        assert '<details class="takes" open>' in page

    def test_is_told_when_it_is_not_as_we_made_it(self, crew: Client, sheet: Sheet) -> None:
        for bad in ("[]", '{"a": 1}', '{"ride-height.LF": ["x", "2"]}', "{"):
            answer = crew.post(path(sheet), {"seen": bad, "ride-height.LF": "2"})
            assert answer.status_code == 400

    def test_a_check_is_ticked_and_taken_back(
        self, crew: Client, sheet: Sheet, standing: Standing
    ) -> None:
        fill(crew, sheet, "last-check")({"nuts-bolts.car": "done"})
        assert standing() == {"nuts-bolts.car": "done"}
        fill(crew, sheet, "last-check")({})
        assert standing() == {}


class TestAChange:
    def given(self, adjuster: str = "spring-seat") -> dict[str, str]:
        fields = {"adjuster": adjuster, "spot": "LF", "amount": "1/2", "unit": "turn"}
        return {f"change-{name}": value for name, value in fields.items()}

    def test_asks_for_later_readings_again(
        self, people: People, crew: Client, sheet: Sheet, post: Post
    ) -> None:
        post(crew, "scales", box="weight.LF", text="74")
        answer = crew.post(path(sheet) + "change", self.given())
        with viewing_as(people.crew.pk):
            as_set = Sheet.objects.get(based_on=sheet)
        assert answer["Location"] == path(as_set)
        assert "take again" not in crew.get(path(sheet, "scales")).content.decode()
        page = plain(crew.get(path(as_set, "scales")).content.decode())
        assert "take again: spring seat LF +1/2 turn" in page
        assert "Same again" in page
        assert 'name="again" value="weight.LF"' in page
        assert "1 to retake" in page
        # Read again, and it says the same.
        send = fill(crew, as_set, "scales")
        send({"weight.LF": "74", "again": "weight.LF"})
        assert "take again" not in crew.get(path(as_set, "scales")).content.decode()

    def test_offers_what_is_moved_in_that_step(self, crew: Client, sheet: Sheet) -> None:
        page = crew.get(path(sheet, "steering")).content.decode()
        assert re.findall(r'<option value="([\w-]+rod[\w-]*)"', page) == ["steering-rod"]

    def test_that_cannot_be_kept_is_asked_for_again(
        self, people: People, crew: Client, sheet: Sheet
    ) -> None:
        given = {**self.given(), "change-amount": "a bit"}
        answer = crew.post(path(sheet) + "change", given)
        assert answer.status_code == 200
        assert b"Write it as 1/2" in answer.content
        with viewing_as(people.crew.pk):
            assert not Change.objects.exists()


class TestTheEnd:
    def test_closing_the_found_sheet_offers_the_set_one(
        self, people: People, crew: Client, sheet: Sheet, post: Post
    ) -> None:
        post(crew, "ride-heights", box="ride-height.LF", text="2 1/4")
        done = f"/sheets/{sheet.pk}/bench/done"
        assert b"Close the sheet as found" in crew.get(done).content
        closed = crew.post(f"/sheets/{sheet.pk}/bench/close", follow=True)
        assert b"Set the car" in closed.content
        opened = crew.post(f"/sheets/{sheet.pk}/bench/follow")
        with viewing_as(people.crew.pk):
            as_set = Sheet.objects.get(based_on=sheet)
        assert opened["Location"] == f"/sheets/{as_set.pk}/bench/"
        assert as_set.role == "set"
        page = tight(crew.get(done).content.decode())
        assert ">Set the car</a>" in page
        assert ">Set the car</button>" not in page

    def test_an_empty_sheet_is_not_closed(self, crew: Client, sheet: Sheet) -> None:
        answer = crew.post(f"/sheets/{sheet.pk}/bench/close", follow=True)
        assert b"Nothing is written on this sheet yet" in answer.content

    def test_says_what_is_missing(self, crew: Client, sheet: Sheet, post: Post) -> None:
        post(crew, "ride-heights", box="ride-height.LF", text="3")
        page = crew.get(f"/sheets/{sheet.pk}/bench/done").content.decode()
        assert "1 of 4 taken" in page
        assert "1 off" in page

    def test_the_bench_goes_on_where_something_is_missing(
        self, people: People, crew: Client, sheet: Sheet
    ) -> None:
        with viewing_as(people.crew.pk):
            full = everything(Measure.objects.in_bulk())
            rest = {n: t for n, t in full.items() if not n.startswith("camber")}
            take_typed(by=people.crew, sheet=sheet, typed=rest)
        bench = f"/sheets/{sheet.pk}/bench/"
        assert crew.get(bench)["Location"] == path(sheet, "kingpin")
        with viewing_as(people.crew.pk):
            close_sheet(by=people.crew, sheet=sheet)
        assert crew.get(bench)["Location"] == bench + "done"


WRITERS = {"chief": 200, "crew": 200}
READERS = {"guest": 200, "coach": 200}
NOBODY = dict.fromkeys(
    ("unlinked_coach", "official", "other_official", "steward", "rival", "stranger"), 404
)


@pytest.mark.parametrize(("who", "status"), {**WRITERS, **READERS, **NOBODY}.items())
def test_who_sees_a_bench(people: People, sheet: Sheet, who: str, status: int) -> None:
    client = as_user(getattr(people, who))
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2 1/4"})
    page = client.get(path(sheet))
    assert page.status_code == status
    assert (b"bench.js" in page.content) == (who in WRITERS)
    assert (b'name="ride-height.LF"' in page.content) == (who in WRITERS)
    assert ("2 1/4" in plain(page.content.decode())) == (status == 200)
    for end in ("done", ""):
        shown = client.get(f"/sheets/{sheet.pk}/bench/{end}", follow=True)
        assert shown.status_code == status


@pytest.mark.parametrize(
    ("who", "status"), {**dict.fromkeys(READERS, 403), **NOBODY, "chief": 302}.items()
)
def test_who_writes_at_a_bench(people: People, sheet: Sheet, who: str, status: int) -> None:
    client = as_user(getattr(people, who))
    sent = client.post(path(sheet), {"seen": "{}", "ride-height.LF": "2 1/4"})
    assert sent.status_code == status
    change = {"change-adjuster": "spring-seat", "change-spot": "LF", "change-amount": "1"}
    noted = client.post(path(sheet) + "change", {**change, "change-unit": "turn"})
    assert noted.status_code == status
    with viewing_as(people.crew.pk):
        assert sheet.readings.exists() == Change.objects.exists() == (who == "chief")


def test_signed_out_is_asked_to_sign_in(sheet: Sheet) -> None:
    for end in ("", "done", "tyres/", "tyres/now"):
        answer = Client().get(f"/sheets/{sheet.pk}/bench/{end}")
        assert answer.status_code == 302
        assert answer["Location"].startswith("/accounts/login/")


def test_there_is_no_such_step(crew: Client, sheet: Sheet) -> None:
    assert crew.get(path(sheet, "paint")).status_code == 404


def test_a_closed_sheet_shows_figures_and_no_boxes(
    people: People, crew: Client, sheet: Sheet, post: Post
) -> None:
    post(crew, "ride-heights", box="ride-height.LF", text="2 3/8")
    with viewing_as(people.crew.pk):
        close_sheet(by=people.crew, sheet=sheet)
    page = plain(crew.get(path(sheet)).content.decode())
    assert "2 3/8" in page
    assert 'name="ride-height.LF"' not in page
    late = crew.post(path(sheet), {"seen": "{}", "ride-height.LF": "3"})
    assert late.status_code == 400
    assert "closed" in late.content.decode()


def test_as_many_queries_for_one_reading_as_for_eighty(
    people: People, crew: Client, sheet: Sheet
) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert crew.get(path(sheet, "scales")).status_code == 200
        return len(queries)

    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"weight.LF": "74"})
    asked()  # the first puts the browser on its person's list
    one = asked()
    with viewing_as(people.crew.pk):
        full = everything(Measure.objects.in_bulk())
        take_typed(by=people.crew, sheet=sheet, typed=full)
        seat: dict[str, Any] = {"adjuster": "spring-seat", "unit": "turn"}
        note_change(by=people.crew, sheet=sheet, spot="LF", amount=Decimal(1), **seat)
    assert asked() == one
