"""A full disk, a worker that dies, and prints that nobody removes."""

import errno
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.viewer import viewing_as
from clubsetup.printing import store
from clubsetup.printing.models import PrintJob, StoredPrint
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source
from clubsetup.printing.work import NO_ROOM, make_print
from tests.clocks import database_at, stand_still
from tests.events.meeting import make_meeting
from tests.people import People
from tests.printing.test_printing import asked, seen

pytestmark = pytest.mark.django_db


def files() -> set[str]:
    return {file.name for file in Path(settings.PRINTS_ROOT).glob("??/*")}


def path_of(job: PrintJob) -> Path:
    return store.path_of(str(seen(job).stored_id))


def test_a_full_disk_holds_the_print_up_and_leaves_no_part(
    people: People, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, job = files(), asked(people)

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        for _ in range(settings.PRINT_MOST_ATTEMPTS + 1):
            make_print(job.pk)
    held = seen(job)
    assert (held.state, held.problem, held.attempts) == ("waiting", NO_ROOM, 0)
    assert files() == before
    client.force_login(people.crew)
    page = client.get(reverse("prints")).content.decode()
    assert "The disk is full" in page
    make_print(job.pk)
    assert seen(job).state == "done"
    assert seen(job).problem == ""


def test_what_a_dead_worker_left_is_swept_and_what_is_written_now_stays(people: People) -> None:
    job = asked(people)
    make_print(job.pk)
    long_ago = timezone.now().timestamp() - 2 * store.LEFT_AFTER
    old = ("a" * 64 + ".77.part", "b" * 64 + ".pdf")
    new = ("c" * 64 + ".78.part", "d" * 64 + ".pdf")
    for name in (*old, *new):
        file = Path(settings.PRINTS_ROOT) / name[:2] / name
        file.parent.mkdir(exist_ok=True)
        file.write_bytes(b"%PDF")
        if name in old:
            os.utime(file, (long_ago, long_ago))
    os.utime(path_of(job), (long_ago, long_ago))
    assert store.sweep() >= 2  # other tests have left some of their own
    remaining = files()
    assert {*new, path_of(job).name} <= remaining
    assert not remaining & set(old)
    for name in new:
        (Path(settings.PRINTS_ROOT) / name[:2] / name).unlink()


def test_a_print_goes_after_its_days_and_comes_again(people: People, client: Client) -> None:
    job = asked(people)
    make_print(job.pk)
    file = path_of(job)
    with database_at(timezone.now() + timedelta(days=settings.PRINT_KEEP_DAYS - 1)):
        assert store.remove_old() == 0
    with database_at(timezone.now() + timedelta(days=settings.PRINT_KEEP_DAYS + 1)):
        assert store.remove_old() == 1
    assert not file.exists()
    assert seen(job).state == "gone"
    with viewing_as(people.crew.pk):
        assert not StoredPrint.objects.exists()
    client.force_login(people.crew)
    page = client.get(reverse("prints")).content.decode()
    assert "A print is kept for 30 days and then removed" in page
    assert "No longer kept" in page
    assert client.get(reverse("print-file", args=[job.pk])).status_code == 404
    again = asked(people)
    make_print(again.pk)
    assert path_of(again) == file
    assert file.is_file()


def test_a_file_that_a_later_print_needs_stays(people: People) -> None:
    early, late = asked(people), asked(people)
    for job in (early, late):
        make_print(job.pk)
    assert path_of(early) == path_of(late)
    with viewing_as(people.crew.pk):
        longer_ago = timezone.now() - timedelta(days=settings.PRINT_KEEP_DAYS + 1)
        PrintJob.objects.filter(pk=early.pk).update(finished_at=longer_ago)
    assert store.remove_old() == 0
    assert (seen(early).state, seen(late).state) == ("gone", "done")
    assert path_of(late).is_file()


def test_nobody_has_fresh_prints_removed(people: People) -> None:
    """Whoever asks for fewer days than one gets one."""
    job = asked(people)
    make_print(job.pk)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "PRINT_KEEP_DAYS", -5, raising=False)
        assert store.remove_old() == 0
    assert seen(job).state == "done"


@pytest.mark.parametrize(
    "key",
    [
        *("sheet", "bench-sheet", "car-bench-sheet"),
        *("tech-card", "tech-cards", "weigh-in-list", "record-book"),
    ],
)
def test_the_same_thing_printed_twice_is_one_file(
    people: People, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    """On another day, by another of the same people: what is on paper has no clock of its own."""
    meeting = make_meeting(people)
    with viewing_as(people.chief.pk):
        sheet = open_sheet(by=people.chief, car=meeting.car, role="found", surface="paved")
    of_the_team = {"sheet": sheet, "bench-sheet": sheet, "car-bench-sheet": meeting.car}
    of: Any = {**of_the_team, "tech-card": meeting.entry}.get(key, meeting.event)
    who = people.chief if key in of_the_team else people.official
    found = set()
    for months in (0, 7):
        stand_still(monkeypatch, timezone.now() + timedelta(days=30 * months))
        with viewing_as(who.pk):
            document = document_for(key)
            html = document.page(document.subject(of.pk), who)
        found.add(Source(html, document.styles).digest())
    assert len(found) == 1
