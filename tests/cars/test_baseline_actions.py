"""Baselines: drafted, filled, published, copied; settled once published."""

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from cars.baselines.actions.baselines import (
    copy_baseline,
    draft_baseline,
    publish_baseline,
    remove_baseline_value,
)
from cars.models import Baseline, BaselineValue, Measure
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import TARGETS, Garage, set_target, typed
from tests.people import People


def set_height(by: User, baseline: Baseline, target: str = "2 1/4", **changed: object) -> None:
    given = {
        "measure": Measure.objects.get(pk="ride-height"),
        "spot": "LF",
        "target": typed("length", target),
        "tolerance": typed("length", "1/16"),
        "source": "club",
        **changed,
    }
    set_target(by=by, baseline=baseline, **given)


@pytest.fixture
def draft(garage: Garage, people: People) -> Baseline:
    with viewing_as(people.steward.pk):
        return draft_baseline(by=people.steward, chassis=garage.chassis, surface="paved")


def test_versions_count_up_in_their_own_line(
    draft: Baseline, garage: Garage, people: People
) -> None:
    by = people.steward
    with viewing_as(by.pk):
        assert (garage.baseline.version, draft.version) == (1, 2)
        assert draft_baseline(by=by, chassis=garage.chassis, surface="dirt").version == 1


def test_a_target_set_again_replaces_the_one_there(draft: Baseline, people: People) -> None:
    with viewing_as(people.steward.pk):
        set_height(people.steward, draft)
        set_height(people.steward, draft, "2 1/2")
        assert [v.target_typed for v in draft.values.all()] == ["2 1/2"]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"spot": "car"}, "spot"),
        ({"source": "hearsay"}, "source"),
        ({"tolerance": typed("length", "-1/16")}, "tolerance"),
        ({"measure": "block-marks"}, "measure"),
    ],
)
def test_what_is_no_target(
    draft: Baseline, people: People, changed: dict[str, Any], field: str
) -> None:
    with viewing_as(people.steward.pk):
        if "measure" in changed:
            changed = {"measure": Measure.objects.get(pk=changed["measure"])}
        with pytest.raises(Invalid) as refusal:
            set_height(people.steward, draft, **changed)
        assert refusal.value.field == field


def test_publishing_retires_the_version_before(
    draft: Baseline, garage: Garage, people: People
) -> None:
    with viewing_as(people.steward.pk):
        with pytest.raises(WrongState, match="no target"):
            publish_baseline(by=people.steward, baseline=draft)
        set_height(people.steward, draft)
        with pytest.raises(Invalid, match="what changed") as refusal:
            publish_baseline(by=people.steward, baseline=draft, note="  ")
        assert refusal.value.field == "note"
        assert Baseline.objects.get(pk=garage.baseline.pk).state == "published"
        done = publish_baseline(by=people.steward, baseline=draft, note="Left front lower.")
        assert done.note == "Left front lower."
        assert (done.state, done.published_by) == ("published", people.steward)
        assert Baseline.objects.get(pk=garage.baseline.pk).state == "retired"
        with pytest.raises(WrongState, match="published"):
            publish_baseline(by=people.steward, baseline=draft)


def test_a_published_baseline_stays(garage: Garage, people: People) -> None:
    by, height = people.steward, Measure.objects.get(pk="ride-height")
    with viewing_as(by.pk):
        with pytest.raises(WrongState, match="Copy it"):
            set_height(by, garage.baseline, "3")
        with pytest.raises(WrongState, match="Copy it"):
            remove_baseline_value(by=by, baseline=garage.baseline, measure=height, spot="LF")
        # Not the actions alone: the database itself refuses.
        with pytest.raises(IntegrityError, match="published"), transaction.atomic():
            BaselineValue.objects.filter(baseline=garage.baseline).update(target=1)
        assert garage.baseline.values.count() == len(TARGETS)


def test_a_copy_is_a_draft_with_the_same_targets(garage: Garage, people: People) -> None:
    with viewing_as(people.steward.pk):
        copy = copy_baseline(by=people.steward, baseline=garage.baseline, note="Softer rears.")
        assert (copy.state, copy.version, copy.note) == ("draft", 2, "Softer rears.")
        old, new = (
            sorted(b.values.values_list("measure", "spot", "target", "tolerance", "source"))
            for b in (garage.baseline, copy)
        )
        assert new == old
        height = Measure.objects.get(pk="ride-height")
        remove_baseline_value(by=people.steward, baseline=copy, measure=height, spot="LF")
        assert copy.values.count() == len(old) - 1
        with pytest.raises(WrongState, match="no such target"):
            remove_baseline_value(by=people.steward, baseline=copy, measure=height, spot="LF")


def test_only_stewards_write_and_see_drafts(
    draft: Baseline, garage: Garage, people: People
) -> None:
    members = (
        *(people.chief, people.crew, people.guest, people.coach, people.unlinked_coach),
        *(people.official, people.rival),
    )
    for who in members:
        with viewing_as(who.pk):
            assert list(Baseline.objects.all()) == [garage.baseline]
            assert BaselineValue.objects.count() == len(TARGETS)
            with pytest.raises(NotAllowed):
                set_height(who, draft)
            with pytest.raises(NotAllowed):
                publish_baseline(by=who, baseline=draft)
            with pytest.raises(NotAllowed):
                copy_baseline(by=who, baseline=garage.baseline)
    for who in (people.other_steward, people.other_official, people.stranger):
        with viewing_as(who.pk):
            assert not Baseline.objects.exists()
            with pytest.raises(NotAllowed):
                draft_baseline(by=who, chassis=garage.chassis, surface="paved")


def test_without_its_line_in_the_trail_nothing_is_saved(
    draft: Baseline, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no trail")

    with viewing_as(people.steward.pk):
        set_height(people.steward, draft)
        monkeypatch.setattr(TrailLine, "save", fails)
        for write in (
            lambda: set_height(people.steward, draft, "2 1/2"),
            lambda: publish_baseline(by=people.steward, baseline=draft, note="New."),
            lambda: copy_baseline(by=people.steward, baseline=draft),
        ):
            with pytest.raises(RuntimeError):
                write()
        assert Baseline.objects.get(pk=draft.pk).state == "draft"
        assert [v.target_typed for v in draft.values.all()] == ["2 1/4"]
        assert Baseline.objects.count() == 2
