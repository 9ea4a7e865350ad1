"""Changing one target of a draft, and publishing it with a word on what changed."""

import html
import re

import pytest
from django.test import Client

from cars.baselines.actions.baselines import copy_baseline
from cars.models import Baseline, BaselineValue, Measure
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, set_target, typed
from tests.people import People


@pytest.fixture
def draft(garage: Garage, people: People) -> Baseline:
    """Version 2, with one target by the club's experience."""
    by, cross = people.steward, Measure.objects.get(pk="cross")
    with viewing_as(by.pk):
        draft = copy_baseline(by=by, baseline=garage.baseline)
        set_target(
            by=by,
            baseline=draft,
            measure=cross,
            spot="car",
            target=typed(cross, "52.25"),
            tolerance=typed(cross, "0.5"),
            source="club",
            source_note="Three wet weekends",
            where="Driver in",
        )
    return draft


@pytest.fixture
def steward(client: Client, people: People) -> Client:
    client.force_login(people.steward)
    return client


def boxes(page: str) -> dict[str, str]:
    """What the form of a target has in it."""
    form = page[page.index('id="set"') :]
    form = form[: form.index("</form>")]
    values = {}
    for name in ("target", "tolerance", "source_note", "where"):
        tag = re.search(rf'<input[^>]*name="{name}"[^>]*>', form)
        assert tag
        value = re.search(r'value="([^"]*)"', tag[0])
        values[name] = html.unescape(value[1]) if value else ""
    for name in ("box", "source"):
        select = re.search(rf'<select[^>]*name="{name}".*?</select>', form, re.DOTALL)
        assert select
        chosen = re.search(r'<option value="([^"]*)" selected', select[0])
        values[name] = chosen[1] if chosen else ""
    return values


def test_a_row_is_edited_with_everything_that_stands(
    steward: Client, people: People, draft: Baseline
) -> None:
    page = steward.get(f"/baselines/{draft.pk}/").content.decode()
    assert 'href="?edit=cross.car#set"' in page
    assert boxes(page)["source"] == "", "a new target has no source until one is chosen"
    edit = f"/baselines/{draft.pk}/?edit=cross.car"
    sent = boxes(steward.get(edit).content.decode())
    assert sent["box"] == "cross.car"
    assert sent["source"] == "club"
    with viewing_as(people.steward.pk):
        before = BaselineValue.objects.values().get(baseline=draft, measure="cross")
    steward.post(edit, sent)
    with viewing_as(people.steward.pk):
        row = BaselineValue.objects.values().get(baseline=draft, measure="cross")
    for name in ("target", "tolerance", "where", "source", "source_note"):
        assert row[name] == before[name], name
    steward.post(edit, {**sent, "target": "53 %"})
    with viewing_as(people.steward.pk):
        row = BaselineValue.objects.values().get(baseline=draft, measure="cross")
    assert row["target"] == 53
    assert (row["source"], row["source_note"]) == ("club", "Three wet weekends")


def test_without_a_source_no_target_is_set(
    steward: Client, people: People, draft: Baseline
) -> None:
    sent = {"box": "pressure.LF", "target": "10", "tolerance": "1", "source": ""}
    page = steward.post(f"/baselines/{draft.pk}/", sent).content.decode()
    assert 'aria-invalid="true"' in page
    with viewing_as(people.steward.pk):
        row = BaselineValue.objects.get(baseline=draft, measure="pressure", spot="LF")
        assert row.target_typed == "9"


def test_publishing_a_second_version_asks_what_changed(
    steward: Client, people: People, draft: Baseline
) -> None:
    address = f"/baselines/{draft.pk}/publish"
    page = steward.post(address, follow=True).content.decode()
    assert "what changed since the version before" in page
    answer = steward.post(address, {"note": "More cross on new tyres"}, follow=True)
    assert "The baseline is in force." in answer.content.decode()
    with viewing_as(people.chief.pk):
        row = Baseline.objects.get(pk=draft.pk)
        assert (row.state, row.note) == ("published", "More cross on new tyres")
