"""Filling, closing and correcting a sheet in the browser, with and without htmx."""

import html
import json
import re
from collections.abc import Callable

import pytest
from django.test import Client

from cars.constraint_messages import MESSAGES
from cars.models import Measure, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import link_coach
from tests.answers import Answer
from tests.cars.filling import everything
from tests.cars.garage import Garage
from tests.cars.seen import seen_by, seen_on
from tests.markup import plain
from tests.people import People

Save = Callable[[str, str], Answer]


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


@pytest.fixture
def crew(client: Client, people: People) -> Client:
    client.force_login(people.crew)
    return client


@pytest.fixture
def save(crew: Client, sheet: Sheet, people: People) -> Save:
    """Sends one box as htmx does, with what the page says was seen."""

    def send(name: str, text: str) -> Answer:
        headers = {"HX-Request": "true", "HX-Trigger-Name": name}
        sent = {name: text, "seen": seen_by(people.crew, sheet)}
        return crew.post(f"/sheets/{sheet.pk}/readings", sent, headers=headers)

    return send


def standing(sheet: Sheet, people: People) -> dict[str, str]:
    with viewing_as(people.crew.pk):
        rows = sheet.readings.current()
        return {f"{row.measure_id}.{row.spot}": row.typed for row in rows}


def test_the_form_has_a_labelled_box_for_every_reading(crew: Client, sheet: Sheet) -> None:
    page = crew.get(f"/sheets/{sheet.pk}/readings").content.decode()
    filled = everything(Measure.objects.in_bulk())
    for name in filled:
        assert f'name="{name}"' in page
    inputs = re.findall(r'<input class="(?:number|words)" id="([^"]+)"', page)
    labels = set(re.findall(r'<label for="([^"]+)"', page))
    assert len(inputs) > 65
    assert set(inputs) <= labels
    assert "stands that cannot roll" in page
    assert "appointed officials" in page


def test_a_box_is_saved_alone_and_answers_with_its_judgement(
    save: Save, sheet: Sheet, people: People
) -> None:
    answer = plain(save("ride-height.RF", "2 5/8").content.decode())
    assert "off by 1/4 in, high" in answer
    assert 'id="v-ride-height--RF" hx-swap-oob="true"' in answer
    assert standing(sheet, people) == {"ride-height.RF": "2 5/8"}


def test_scale_figures_come_with_the_fourth_pad(save: Save) -> None:
    for spot, text in {"LF": "80", "RF": "60", "LR": "90"}.items():
        assert "50.0%" not in save(f"weight.{spot}", text).content.decode()
    answer = save("weight.RR", "70").content.decode()
    assert re.search(r'id="c-cross--car" hx-swap-oob="true".*?50\.0%', answer)
    assert answer.count("50.0%") >= 2  # beside the pads and on the drawing
    assert "off by 2.0%, less cross" in answer


def test_what_cannot_be_read_is_answered_beside_its_box(
    save: Save, sheet: Sheet, people: People
) -> None:
    save("ride-height.RF", "2 5/8")
    answer = save("ride-height.RF", "11 psi").content.decode()
    assert 'role="alert"' in answer
    assert "is for a pressure" in answer
    assert standing(sheet, people) == {"ride-height.RF": "2 5/8"}


def test_a_tick_is_saved_and_taken_back(
    crew: Client, save: Save, sheet: Sheet, people: People
) -> None:
    save("nuts-bolts.car", "done")
    assert standing(sheet, people) == {"nuts-bolts.car": "done"}
    headers = {"HX-Request": "true", "HX-Trigger-Name": "nuts-bolts.car"}
    sent = {"seen": seen_by(people.crew, sheet)}
    crew.post(f"/sheets/{sheet.pk}/readings", sent, headers=headers)
    assert standing(sheet, people) == {}


@pytest.mark.parametrize("name", ["", "nothing", "no-measure.LF", "ride-height.front", "cross.car"])
def test_a_box_that_is_not_there_saves_nothing(
    save: Save, sheet: Sheet, people: People, name: str
) -> None:
    assert save(name, "2").status_code == 200
    assert standing(sheet, people) == {}


def test_the_whole_form_works_without_scripts(crew: Client, sheet: Sheet, people: People) -> None:
    page = crew.get(f"/sheets/{sheet.pk}/readings").content.decode()
    typed = {"ride-height.LF": "2 1/4", "pressure.LF": "9", "nuts-bolts.car": "done"}
    answer = crew.post(f"/sheets/{sheet.pk}/readings", {**typed, "seen": seen_on(page)})
    assert answer.status_code == 302
    assert standing(sheet, people) == typed
    page = crew.get(f"/sheets/{sheet.pk}/readings").content.decode()
    assert {name: text for name, (_, text) in json.loads(seen_on(page)).items()} == typed


def test_of_a_whole_form_the_good_is_saved_and_the_bad_stays_in_its_box(
    crew: Client, sheet: Sheet, people: People
) -> None:
    typed = {"ride-height.LF": "2 1/4", "ride-height.RF": "<two>", "pressure.LF": "9 in"}
    answer = crew.post(f"/sheets/{sheet.pk}/readings", {**typed, "seen": "{}"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'value="&lt;two&gt;"' in page
    assert 'value="9 in"' in page
    assert page.count('aria-invalid="true"') == 2
    assert standing(sheet, people) == {"ride-height.LF": "2 1/4"}


def test_a_form_opened_earlier_does_not_undo_what_others_wrote(
    crew: Client, sheet: Sheet, people: People
) -> None:
    page = crew.get(f"/sheets/{sheet.pk}/readings").content.decode()
    with viewing_as(people.chief.pk):
        take_typed(by=people.chief, sheet=sheet, typed={"ride-height.RF": "2 3/8"})
    sent = {"ride-height.LF": "2 1/4", "ride-height.RF": "", "seen": seen_on(page)}
    crew.post(f"/sheets/{sheet.pk}/readings", sent)
    assert standing(sheet, people) == {"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8"}


def test_what_was_typed_is_never_markup(crew: Client, save: Save, sheet: Sheet) -> None:
    evil = '"><script>alert(1)</script>'
    for name in ("block-marks.left", "ride-height.LF"):
        assert "<script>alert" not in save(name, evil).content.decode()
    for page in ("", "readings"):
        assert "<script>alert" not in crew.get(f"/sheets/{sheet.pk}/{page}").content.decode()
    history = crew.get(f"/sheets/{sheet.pk}/history").content.decode()
    assert "&lt;script&gt;" in history


def test_closing_and_correcting(crew: Client, save: Save, sheet: Sheet, people: People) -> None:
    empty = crew.post(f"/sheets/{sheet.pk}/close", follow=True).content.decode()
    assert "Nothing is written on this sheet yet" in empty
    save("ride-height.LF", "2 1/4")
    page = crew.post(f"/sheets/{sheet.pk}/close", follow=True).content.decode()
    assert "data-reading" not in page
    assert crew.get(f"/sheets/{sheet.pk}/readings")["Location"] == f"/sheets/{sheet.pk}/"
    assert MESSAGES["sheet_is_closed"] in html.unescape(
        save("ride-height.LF", "3").content.decode()
    )
    assert standing(sheet, people) == {"ride-height.LF": "2 1/4"}
    wrong = crew.post(f"/sheets/{sheet.pk}/correct", {"reason": ""}).content.decode()
    assert "it is needed" in wrong
    done = crew.post(f"/sheets/{sheet.pk}/correct", {"reason": "wrong rail"}, follow=True)
    page = done.content.decode()
    assert "version 2" in page
    assert "wrong rail" in page
    old = crew.get(f"/sheets/{sheet.pk}/").content.decode()
    assert "There is a newer version" in old
    assert "Correct it" not in old


def test_comments_changes_and_the_history(crew: Client, save: Save, sheet: Sheet) -> None:
    save("ride-height.LF", "2 1/4")
    save("ride-height.LF", "2 5/16")
    crew.post(f"/sheets/{sheet.pk}/comments", {"text": "Looks <low> to me."})
    form = {"adjuster": "spring-seat", "spot": "LF", "amount": "-1 1/2", "unit": "turn"}
    noted = crew.post(f"/sheets/{sheet.pk}/changes/new", form)
    bad = crew.post(f"/sheets/{sheet.pk}/changes/new", {**form, "amount": "a lot"})
    assert "Write it as 1/2" in bad.content.decode()
    page = plain(crew.get(f"/sheets/{sheet.pk}/").content.decode())
    assert "Looks &lt;low&gt; to me." in page
    assert "spring seat LF −1 1/2 turns" not in page
    set_sheet = noted["Location"].removesuffix("#changes")
    assert "spring seat LF −1 1/2 turns" in crew.get(set_sheet).content.decode()
    history = crew.get(f"/sheets/{sheet.pk}/history").content.decode()
    assert "<s>Ride height LF: 2 1/4</s>" in history
    assert "Ride height LF: 2 5/16" in history
    assert "opened the sheet" in history


def test_opening_a_sheet_after_another(crew: Client, save: Save, sheet: Sheet) -> None:
    save("ride-height.LF", "2 1/4")
    new = f"/cars/{sheet.car_id}/sheets/new"
    page = crew.get(f"{new}?after={sheet.pk}").content.decode()
    assert f'<option value="{sheet.pk}" selected>' in page
    sent = {"role": "set", "made_on": "2026-03-15", "based_on": str(sheet.pk), "fuel": "half"}
    refused = crew.post(new, sent)
    assert refused.status_code == 200
    assert 'value="half"' in refused.content.decode()
    opened = crew.post(new, {**sent, "fuel": "1/2 gal"})["Location"]
    assert "found 2 1/4" in plain(crew.get(f"{opened}readings").content.decode())


def test_the_head_is_changed_while_open(crew: Client, save: Save, sheet: Sheet) -> None:
    sent = {"made_on": "2026-03-16", "surface": "dirt", "fuel": "2 L", "note": "windy"}
    page = crew.post(f"/sheets/{sheet.pk}/change", sent, follow=True).content.decode()
    assert "16 Mar 2026" in page
    assert "windy" in page
    assert "2 L" in page


@pytest.mark.parametrize("may_write", [False, True])
def test_guests_and_coaches_read_and_only_a_trusted_coach_writes(
    client: Client, sheet: Sheet, people: People, may_write: bool
) -> None:
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=people.coach, may_write=may_write)
    client.force_login(people.coach)
    page = client.get(f"/sheets/{sheet.pk}/").content.decode()
    assert ("Type the whole sheet" in page) is may_write
    assert "Leave the comment" in page
    boxes = client.get(f"/sheets/{sheet.pk}/readings")
    assert boxes.status_code == (200 if may_write else 403)
    answer = client.post(f"/sheets/{sheet.pk}/readings", {"ride-height.LF": "2"})
    assert answer.status_code == (302 if may_write else 403)
    client.force_login(people.guest)
    page = client.get(f"/sheets/{sheet.pk}/").content.decode()
    assert "Type the whole sheet" not in page
    assert "Leave the comment" not in page
    assert client.get(f"/sheets/{sheet.pk}/readings").status_code == 403


def test_a_closed_sheet_has_nothing_to_type_in(
    client: Client, sheet: Sheet, people: People
) -> None:
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2 1/4"})
        close_sheet(by=people.crew, sheet=sheet)
    client.force_login(people.crew)
    page = client.get(f"/sheets/{sheet.pk}/").content.decode()
    assert "data-reading" not in page
    assert "Type the whole sheet" not in page
    assert "Correct it" in page
