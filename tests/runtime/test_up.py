"""The two commands, with real processes: starting, stopping, killing and starting again."""

import io
import os
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, sync_playwright
from pypdf import PdfReader

from tests.here import CHROMIUM, need_browser
from tests.runtime.service import Service, described, until


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A short path: the database's socket lies in it."""
    return tmp_path_factory.mktemp("up") / "data"


@pytest.fixture(scope="module")
def one(folder: Path) -> Iterator[Service]:
    service = Service(folder)
    yield service
    service.kill_everything()


@pytest.fixture
def service(one: Service) -> Service:
    """Running, with the first steward signed in; whatever the test before did to it."""
    if one.up is None or one.up.poll() is not None:
        first = one.up is None
        one.start()
        if first:
            one.sign_in()
    return one


def fetched(service: Service, job_id: str) -> PdfReader:
    return PdfReader(io.BytesIO(service.get(f"/prints/{job_id}/file")))


def forget_files(service: Service) -> None:
    """A file that is there already would not be rendered again."""
    for file in (service.folder / "prints").glob("*/*.pdf"):
        file.unlink()


@contextmanager
def browser_page(service: Service) -> Iterator[Page]:
    """Debian's Chromium with the session of the service's own browser."""
    need_browser()
    words = "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync"
    quiet = "--disable-background-networking --disable-component-update"
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=CHROMIUM, args=[*words.split(), *quiet.split()]
        )
        context = chromium.new_context()
        where = f"http://127.0.0.1:{service.port}/"
        context.add_cookies(
            [{"name": c.name, "value": c.value or "", "url": where} for c in service.cookies]
        )
        yield context.new_page()
        chromium.close()


def kill(process_id: int) -> None:
    os.kill(process_id, signal.SIGKILL)


def test_it_starts_prints_stops_and_finds_its_data_again(service: Service) -> None:
    job_id = service.ask_for_print()
    done = service.print_done(job_id)
    assert (done["state"], done["attempts"]) == ("done", 1)
    pages = len(fetched(service, job_id).pages)
    assert pages > 5

    assert service.interrupt() == 0
    assert "Stopped." in service.said()
    assert not service.processes(), described(service.processes())

    service.start()
    assert "Founded" not in service.said()
    # The session, the job and its file are where they were.
    assert len(fetched(service, job_id).pages) == pages


def test_a_second_one_says_that_it_is_already_running(service: Service) -> None:
    second = service.command("up", "--port", "1", stdout=subprocess.PIPE)
    said, _ = second.communicate(timeout=180)
    assert second.returncode == 1
    assert b"already running" in said
    assert f":{service.port}/".encode() in said
    assert service.get("/prints/")


def test_other_commands_find_the_running_database(service: Service) -> None:
    code = (
        "import sys; from teams.models import Club;"
        "print('clubs:', Club.objects.using('owner').count());"
        "print('scipy:', {'scipy.optimize', 'scipy.special'} & {*sys.modules})"
    )
    shell = service.command("shell", "-c", code, stdout=subprocess.PIPE)
    said, _ = shell.communicate(timeout=180)
    assert b"clubs: 1" in said
    # Half a second of each start, and few commands compute.
    assert b"scipy: set()" in said


def test_what_serves_people_never_gets_the_owner_s_address(service: Service) -> None:
    served = [*service.part("gunicorn"), *service.part("celery"), *service.part("sweep")]
    assert len(served) >= 5, described(served)
    for process in served:
        assert "clubsetup_app:" in process.environ()["DATABASE_URL"]


@pytest.mark.browser
def test_the_page_follows_a_print_without_being_reloaded(service: Service) -> None:
    forget_files(service)
    (worker,) = service.part("celery")
    worker.suspend()
    service.ask_for_print()
    with browser_page(service) as page:
        page.goto(f"http://127.0.0.1:{service.port}/prints/")
        page.evaluate("window.kept = true")
        newest = page.locator(".print").first
        assert "Waiting" in newest.inner_text()
        worker.resume()
        newest.get_by_role("link", name="Open the PDF").wait_for(timeout=240_000)
        assert "Ready" in newest.inner_text()
        assert page.evaluate("window.kept")
        assert newest.get_attribute("aria-live") == "polite"
        violations = Axe().run(page).response["violations"]
        assert not violations, violations


def test_a_worker_killed_while_rendering_loses_nothing_and_doubles_nothing(
    service: Service,
) -> None:
    forget_files(service)
    job_id = service.ask_for_print()
    until(lambda: service.job(job_id)["state"] == "working", "the worker to take it")
    (worker,) = service.part("celery")
    kill(worker.pid)
    assert service.job(job_id)["state"] == "working"
    done = service.print_done(job_id)
    assert (done["state"], done["attempts"]) == ("done", 2)
    assert service.done_lines(job_id) == 1
    assert len(fetched(service, job_id).pages) > 5
    assert len(list((service.folder / "prints").glob("*/*"))) == 1
    assert "The print worker ended (killed by SIGKILL); starting it again." in service.said()


@pytest.mark.parametrize("word", ["gunicorn", "sweep", "celery"])
def test_a_killed_part_is_started_again(service: Service, word: str) -> None:
    before = service.part(word)
    kill(before[0].pid)
    old = {p.pid for p in before}
    until(lambda: (now := service.part(word)) and not old & {p.pid for p in now}, f"a new {word}")
    until(lambda: _answers(service), "the site")
    assert service.print_done(service.ask_for_print())["state"] == "done"


def test_a_killed_database_is_started_again_with_all_it_had(service: Service) -> None:
    job_id = service.ask_for_print()
    note = service.folder / "database" / "postmaster.pid"
    kill(int(note.read_text().split("\n")[0]))
    until(lambda: "The database ended; starting it again." in service.said(), "the word")
    until(lambda: _answers(service), "the site")
    assert service.print_done(job_id)["state"] == "done"
    assert service.done_lines(job_id) == 1


def _answers(service: Service) -> bool:
    try:
        return bool(service.get("/prints/"))
    except OSError:
        return False


def test_an_empty_or_torn_message_does_not_stop_the_worker(service: Service) -> None:
    queue = service.folder / "queue" / "in"
    (worker,) = service.part("celery")
    (queue / "1_torn.celery.msg").write_bytes(b"")
    (queue / "2_torn.celery.msg").write_bytes(b'{"body": "')
    until(lambda: not list(queue.glob("*_torn*")), "the worker to take them")
    assert service.print_done(service.ask_for_print())["state"] == "done"
    assert service.part("celery") == [worker]


def test_the_plug_is_pulled_right_after_asking(service: Service) -> None:
    note = service.folder / "database" / "postmaster.pid"
    lines = note.read_text().split("\n")
    forget_files(service)
    job_id = service.ask_for_print()
    service.kill_everything()
    # The database's note of its process id stayed, and the number is now another process's.
    note.write_text("\n".join([str(os.getpid()), *lines[1:]]))
    # Even the queue is lost: the row is what counts.
    for message in (service.folder / "queue" / "in").iterdir():
        message.unlink()
    service.start()
    assert service.print_done(job_id)["state"] == "done"
    assert service.done_lines(job_id) == 1
    assert len(fetched(service, job_id).pages) > 5


def test_killing_up_alone_ends_its_children_and_the_next_start_takes_over(service: Service) -> None:
    assert service.up
    service.up.kill()
    service.up.wait(60)
    served = ("gunicorn", "celery", "sweep")
    until(lambda: not any(service.part(word) for word in served), "the children to end")
    assert service.processes()  # the database lives on
    service.start()
    assert service.get("/prints/")
    service.up.terminate()  # SIGTERM stops it as Ctrl-C does
    assert service.up.wait(180) == 0
    assert not service.processes(), described(service.processes())
