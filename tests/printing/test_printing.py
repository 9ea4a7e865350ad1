"""Asking for a print, making it, and fetching it, as the person who asked and nobody else."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection
from django.http import Http404
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.celery import app
from clubsetup.printing import store, work
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob, StoredPrint
from clubsetup.printing.sending import send_unheld
from clubsetup.printing.tasks import make_print
from clubsetup.printing.work import GAVE_UP, GONE
from clubsetup.runtime.libraries import PRINTS_WAIT
from teams.actions.teams import remove_team_member
from teams.models import TeamMember
from tests.conftest import Capture
from tests.owner import bend
from tests.people import People
from tests.printing.documents import BROKEN, TEAM_CARD

pytestmark = pytest.mark.django_db

OTHERS = (
    *("steward", "official", "coach", "unlinked_coach", "chief", "guest", "rival"),
    *("other_official", "other_steward", "stranger"),
)


def asked(people: People, who: User | None = None, document: str = TEAM_CARD.key) -> PrintJob:
    by = who or people.crew
    with viewing_as(by.pk):
        return ask_for_print(by=by, document=document, subject_id=people.team.pk)


def seen(job: PrintJob) -> PrintJob:
    with viewing_as(job.asked_by_id):
        return PrintJob.objects.select_related("stored").get(pk=job.pk)


def file_of(job: PrintJob) -> Path:
    assert job.stored_id is not None
    return store.path_of(job.stored_id)


def queued() -> list[Path]:
    return sorted((Path(settings.DATA_DIR) / "queue" / "in").iterdir())


@contextmanager
def broker_at(url: str) -> Iterator[None]:
    """Sends to another broker, through connections of its own."""
    celery: Any = app
    before = celery.conf.broker_write_url, celery.conf.broker_transport
    celery.conf.broker_write_url, celery.conf.broker_transport = url, None
    celery._after_fork()  # forgets the open connections
    yield
    celery.conf.broker_write_url, celery.conf.broker_transport = before
    celery._after_fork()


@pytest.fixture(autouse=True)
def _empty_queue() -> None:
    for message in queued():
        message.unlink()


def test_a_print_is_made_under_the_eyes_of_who_asked(people: People) -> None:
    job = asked(people)
    make_print(str(job.pk))
    done = seen(job)
    assert done.state == PrintJob.State.DONE
    assert done.attempts == 1
    assert done.lease is None
    reader = PdfReader(file_of(done))
    text = reader.pages[0].extract_text()
    assert "Wrens" in text
    # Chief, crew and guest: with no viewer the policies would have counted none.
    assert "For Crew. Members seen: 3." in text
    assert "page 1 of 1" in text
    assert done.stored
    assert done.stored.pages == len(reader.pages) == 1
    assert done.stored.bytes == file_of(done).stat().st_size


def test_asking_and_finishing_leave_their_line_in_the_trail(people: People) -> None:
    job = asked(people)
    make_print(str(job.pk))
    with viewing_as(people.crew.pk):
        lines = TrailLine.objects.filter(on_id=job.pk, by=people.crew).order_by("created_at")
        assert [line.did for line in lines] == ["asked_for", "done"]


def test_the_same_input_is_the_same_file_and_is_rendered_once(people: People) -> None:
    first, second = asked(people), asked(people)
    make_print(str(first.pk))
    path = file_of(seen(first))
    written, content = path.stat().st_mtime_ns, path.read_bytes()
    make_print(str(second.pk))
    assert seen(second).stored_id == seen(first).stored_id
    assert path.stat().st_mtime_ns == written
    path.unlink()  # a lost file is made again, byte for byte
    third = asked(people)
    make_print(str(third.pk))
    assert path.read_bytes() == content
    assert not [p for p in path.parent.iterdir() if p.suffix == ".part"]


def test_another_viewer_s_print_is_another_file(people: People) -> None:
    jobs = [asked(people), asked(people, people.chief)]
    for job in jobs:
        make_print(str(job.pk))
    assert len({seen(job).stored_id for job in jobs}) == 2


def test_nobody_asks_for_what_they_cannot_see(people: People) -> None:
    for who in (people.stranger, people.other_steward, people.other_official):
        with pytest.raises(Http404):
            asked(people, who)
    with pytest.raises(Http404):
        asked(people, document="no-such-document")
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM printing_printjob")
        assert cursor.fetchone() == (0,)


def test_who_lost_sight_of_it_before_it_was_made_gets_no_file(people: People) -> None:
    job = asked(people)
    with viewing_as(people.chief.pk):
        member = TeamMember.objects.get(team=people.team, user=people.crew)
        remove_team_member(by=people.chief, member=member)
    make_print(str(job.pk))
    failed = seen(job)
    assert (failed.state, failed.problem) == (PrintJob.State.FAILED, GONE)
    with viewing_as(people.crew.pk):
        assert StoredPrint.objects.count() == 0


def test_the_id_is_sent_when_the_request_commits_and_not_before(
    people: People, client: Client, django_capture_on_commit_callbacks: Capture
) -> None:
    client.force_login(people.crew)
    with django_capture_on_commit_callbacks() as callbacks:
        asked(people)
    assert queued() == []
    for callback in callbacks:
        callback()
    assert len(queued()) == 1


def test_a_dead_broker_does_not_fail_the_request(
    people: People, client: Client, django_capture_on_commit_callbacks: Capture
) -> None:
    client.force_login(people.crew)
    with broker_at("redis://127.0.0.1:1/0"), django_capture_on_commit_callbacks(execute=True):
        answer = client.post(
            reverse("print-ask"), {"document": TEAM_CARD.key, "subject_id": people.team.pk}
        )
    assert answer.status_code == 302
    assert queued() == []
    with viewing_as(people.crew.pk):
        assert PrintJob.objects.get().state == PrintJob.State.WAITING


def set_job(job: PrintJob, **fields: object) -> None:
    bend(job, **fields)


def ago(seconds: float) -> object:
    return timezone.now() - timedelta(seconds=seconds)


def test_what_is_held_is_left_alone_until_the_lease_runs_out(people: People) -> None:
    job = asked(people)
    held = {"state": PrintJob.State.WORKING, "lease": uuid4(), "attempts": 1}
    set_job(job, **held, leased_until=timezone.now() + timedelta(seconds=30), sent_at=ago(3600))
    make_print(str(job.pk))
    assert seen(job).lease == held["lease"]
    assert send_unheld() == 0
    set_job(job, leased_until=ago(1))
    assert send_unheld() == 1
    make_print(str(job.pk))
    assert (seen(job).state, seen(job).attempts) == (PrintJob.State.DONE, 2)


def test_a_finished_job_is_never_made_again(people: People) -> None:
    job = asked(people)
    make_print(str(job.pk))
    before = seen(job)
    file_of(before).unlink()
    make_print(str(job.pk))
    assert seen(job).finished_at == before.finished_at
    assert not file_of(before).exists()


def test_a_lost_id_is_sent_again_and_a_long_queue_is_not_flooded(people: People) -> None:
    job = asked(people)
    assert send_unheld() == 0  # sent just now
    set_job(job, sent_at=ago(60), created_at=ago(60))
    assert send_unheld() == 1
    assert send_unheld() == 0
    # Sent a second time after 60 s, it now waits 60 s again before it is taken for lost.
    set_job(job, sent_at=ago(40), created_at=ago(100))
    assert send_unheld() == 0
    set_job(job, sent_at=ago(61), created_at=ago(121))
    assert send_unheld() == 1
    assert len(queued()) == 2


def test_what_cannot_be_made_fails_after_the_last_attempt_and_says_so(people: People) -> None:
    job = asked(people, document=BROKEN.key)
    for attempt in range(1, settings.PRINT_MOST_ATTEMPTS):
        make_print(str(job.pk))
        assert (seen(job).state, seen(job).attempts) == (PrintJob.State.WAITING, attempt)
    make_print(str(job.pk))
    assert (seen(job).state, seen(job).problem) == (PrintJob.State.FAILED, GAVE_UP)


def test_what_kills_its_worker_every_time_is_given_up(people: People) -> None:
    job = asked(people)
    set_job(
        job,
        state=PrintJob.State.WORKING,
        lease=uuid4(),
        leased_until=ago(1),
        attempts=settings.PRINT_MOST_ATTEMPTS,
    )
    make_print(str(job.pk))
    assert (seen(job).state, seen(job).problem) == (PrintJob.State.FAILED, GAVE_UP)


def test_an_id_that_is_no_job_is_ignored(people: People) -> None:
    make_print(str(uuid4()))


class TestPages:
    def ask(self, client: Client, people: People, **more: Any) -> PrintJob:
        client.post(
            reverse("print-ask"), {"document": TEAM_CARD.key, "subject_id": people.team.pk}, **more
        )
        with viewing_as(people.crew.pk):
            return PrintJob.objects.latest("created_at")

    def test_from_the_button_to_the_file(self, people: People, client: Client) -> None:
        client.force_login(people.crew)
        answer = client.post(
            reverse("print-ask"),
            {"document": TEAM_CARD.key, "subject_id": people.team.pk},
            headers={"HX-Request": "true"},
        )
        with viewing_as(people.crew.pk):
            job = PrintJob.objects.get()
        state = reverse("print-state", args=[job.pk])
        assert f'hx-get="{state}?shown=waiting"' in answer.content.decode()
        assert client.get(state, {"shown": "waiting"}).status_code == 204
        make_print(str(job.pk))
        answer = client.get(state, {"shown": "waiting"})
        assert "hx-trigger" not in answer.content.decode()
        link = reverse("print-file", args=[job.pk])
        assert link in answer.content.decode()
        answer = client.get(link)
        assert answer["Content-Type"] == "application/pdf"
        assert answer["Content-Disposition"] == 'inline; filename="team-card-wrens.pdf"'
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert len(PdfReader(io.BytesIO(answer.getvalue())).pages) == 1
        assert link in client.get(reverse("prints")).content.decode()

    def test_without_script_the_list_follows(self, people: People, client: Client) -> None:
        client.force_login(people.crew)
        self.ask(client, people)
        assert "Waiting" in client.get(reverse("prints")).content.decode()

    def test_there_is_no_file_before_it_is_ready(self, people: People, client: Client) -> None:
        client.force_login(people.crew)
        job = self.ask(client, people)
        assert client.get(reverse("print-file", args=[job.pk])).status_code == 404

    @pytest.mark.parametrize("who", OTHERS)
    def test_a_print_is_its_asker_s_alone(self, people: People, client: Client, who: str) -> None:
        job = asked(people)
        make_print(str(job.pk))
        client.force_login(getattr(people, who))
        for name in ("print-state", "print-file"):
            assert client.get(reverse(name, args=[job.pk])).status_code == 404
        assert "Team card" not in client.get(reverse("prints")).content.decode()

    def test_who_no_longer_sees_the_subject_cannot_fetch_it(
        self, people: People, client: Client
    ) -> None:
        client.force_login(people.crew)
        job = self.ask(client, people)
        make_print(str(job.pk))
        link = reverse("print-file", args=[job.pk])
        assert client.get(link).status_code == 200
        with viewing_as(people.chief.pk):
            member = TeamMember.objects.get(team=people.team, user=people.crew)
            remove_team_member(by=people.chief, member=member)
        assert client.get(link).status_code == 404

    def test_signed_out_is_sent_to_sign_in(self, people: People, client: Client) -> None:
        job = asked(people)
        for name, args in (("prints", []), ("print-state", [job.pk]), ("print-file", [job.pk])):
            answer = client.get(reverse(name, args=args))
            assert answer.status_code == 302
            assert answer["Location"].startswith(reverse("account_login"))

    def test_what_is_not_theirs_or_not_there_is_404(self, people: People, client: Client) -> None:
        client.force_login(people.stranger)
        for document, subject in (
            (TEAM_CARD.key, people.team.pk),
            ("nothing", people.team.pk),
            (TEAM_CARD.key, "not-an-id"),
        ):
            data = {"document": document, "subject_id": subject}
            assert client.post(reverse("print-ask"), data).status_code == 404


class TestWithoutTheLibrary:
    """What the worker and a page say while a library for prints is missing."""

    def test_the_job_waits_uses_up_no_attempt_and_the_page_hears_of_it(
        self, people: People, client: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        job = asked(people)
        client.force_login(people.crew)
        state = reverse("print-state", args=[job.pk])
        assert client.get(state, {"shown": "waiting"}).status_code == 204
        monkeypatch.setattr(work, "prints_wait_for", lambda: PRINTS_WAIT)
        for _ in range(settings.PRINT_MOST_ATTEMPTS + 1):
            make_print(str(job.pk))
        assert (held := seen(job)).state == PrintJob.State.WAITING
        assert (held.attempts, held.problem) == (0, PRINTS_WAIT)
        changed = client.get(state, {"shown": "waiting"})
        assert changed.status_code == 200
        assert PRINTS_WAIT in changed.content.decode()
        assert client.get(state, {"shown": held.shown}).status_code == 204

        monkeypatch.setattr(work, "prints_wait_for", lambda: "")
        make_print(str(job.pk))
        assert (done := seen(job)).state == PrintJob.State.DONE
        assert (done.attempts, done.problem) == (1, "")

    def test_a_job_in_other_hands_or_finished_is_left_alone(
        self, people: People, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        done, held = asked(people), asked(people)
        make_print(str(done.pk))
        lease = work._take(held.pk)
        assert lease
        monkeypatch.setattr(work, "prints_wait_for", lambda: PRINTS_WAIT)
        for job in (done, held):
            make_print(str(job.pk))
        assert (seen(done).state, seen(done).problem) == (PrintJob.State.DONE, "")
        assert seen(held).lease == lease.lease
