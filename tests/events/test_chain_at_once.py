"""Several devices save at once: whatever was exported or printed is the beginning of all after."""

import json
from collections.abc import Callable, Iterator
from itertools import pairwise

import pytest
from django.core.cache import cache
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clubsetup.access.viewer import viewing_as
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.weighing import weigh
from events.models import Entry, WeighIn
from events.records.actions.export import export_records
from events.rules.chain import start
from tests.events.meeting import Meeting, mass
from tests.events.savers import Saver, committed, finish
from tests.events.test_desk_pages import weigh_form
from tests.events.test_tech_api import weighing
from tests.examples import examples

__all__ = ["committed"]


def hashes(meeting: Meeting) -> list[str]:
    """Of the head and of each line, as a file holds them now."""
    by = meeting.people.official
    cache.clear()  # of how many exports one person may ask for in an hour
    with viewing_as(by.pk):
        file = json.loads(export_records(by=by, event=meeting.event, kind="json"))
    return [start(file["head"]), *(one["hash"] for one in file["records"])]


def desk(meeting: Meeting) -> Callable[[Saver], object]:
    client = Client()
    client.force_login(meeting.people.official)
    return lambda _: client.post(f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting))


def api(meeting: Meeting) -> Callable[[Saver], object]:
    client = Client()
    client.force_login(meeting.people.official)
    given = weighing(meeting, entry=str(meeting.rival_entry.pk))
    return lambda _: client.post("/api/v1/weigh-ins", given, content_type="application/json")


@pytest.mark.parametrize("first", [desk, api])
def test_a_hash_printed_between_two_saves_is_found_later(
    committed: Meeting, first: Callable[[Meeting], Callable[[Saver], object]]
) -> None:
    """The one that stored its record first becomes visible last."""
    other = api if first is desk else desk
    slow, quick = Saver(first(committed)), Saver(other(committed))
    slow.start()
    quick.start()
    slow.step()
    quick.step()
    finish([quick])
    printed = hashes(committed)
    finish([slow])
    later = hashes(committed)
    assert len(later) == 2 * len(printed) - 1 > 1
    assert later[: len(printed)] == printed


def weighs(meeting: Meeting, entry: Entry) -> Callable[[Saver], object]:
    by = meeting.people.official

    def doing(saver: Saver) -> None:
        with viewing_as(by.pk):
            weigh(
                by=by,
                entry=Entry.objects.select_related("event", "club", "event_class").get(pk=entry.pk),
                scale_set=meeting.scales,
                stage="entry",
                driver_in=True,
                total=mass("321"),
            )
            saver.stop_here()

    return doing


def checks(meeting: Meeting) -> Callable[[Saver], object]:
    by = meeting.people.official
    loads = [LoadRead(pad, mass("80"), mass("80")) for pad in ("LF", "RF", "LR", "RR")]

    def doing(saver: Saver) -> None:
        with viewing_as(by.pk):
            check_scales(by=by, scale_set=meeting.scales, loads=loads, pads_level=True)
            saver.stop_here()

    return doing


@pytest.fixture
def counted(committed: Meeting) -> Iterator[Meeting]:
    """At the end, no record is missing and none is there twice."""
    yield committed
    with viewing_as(committed.people.official.pk):
        rows = WeighIn.objects.count()
    by = committed.people.official
    with viewing_as(by.pk):
        file = json.loads(export_records(by=by, event=committed.event, kind="json"))
    ids = [one["record"]["id"] for one in file["records"]]
    assert len(ids) == len(set(ids))
    assert sum(one["record"]["kind"] == "weigh_in" for one in file["records"]) == rows


@settings(
    max_examples=examples(12),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(order=st.lists(st.integers(0, 2), min_size=4, max_size=9))
def test_every_export_is_the_beginning_of_every_later_one(
    counted: Meeting, order: list[int]
) -> None:
    """Two weigh and one checks the scales they weigh on, their steps in any order."""
    meeting = counted
    doings = [weighs(meeting, meeting.entry), weighs(meeting, meeting.rival_entry), checks(meeting)]
    savers, exported = [Saver(doing) for doing in doings], [hashes(meeting)]
    for saver in savers:
        saver.start()
    for index in order:
        savers[index].step()
        exported.append(hashes(meeting))
    finish(savers)
    exported.append(hashes(meeting))
    for earlier, later in pairwise(exported):
        assert later[: len(earlier)] == earlier
