"""What a print costs beside bare WeasyPrint with the same HTML: no more than 15 % is the aim.

Run by path: `uv run pytest tests/benchmarks/bench_print.py -s`. Ours is the whole task in a warm
process: taking the job, building the sheet's HTML, rendering, writing the file and its row, with
every transaction really committed. Bare is WeasyPrint alone, given the HTML that ours had built.
They take turns, so that a busy machine slows both.
"""

import statistics
import time
from collections.abc import Callable, Iterator

import pytest
from django.db import connections
from pytest_benchmark.fixture import BenchmarkFixture
from pytest_django.plugin import DjangoDbBlocker
from weasyprint import CSS, HTML

from cars.models import Measure, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.prints import SETUP_SHEET
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing import store, work
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob
from clubsetup.printing.render import BASE, paper, style
from tests.benchmarks import sizes
from tests.cars.filling import everything
from tests.cars.garage import make_garage
from tests.standing_people import committed_people

ROUNDS = sizes.of(15)
AIM = 1.15


@pytest.fixture
def chief_and_sheet(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker
) -> Iterator[tuple[User, Sheet]]:
    """A full sheet, committed; taken away again by the tables' owner."""
    with django_db_blocker.unblock(), committed_people() as people:
        garage = make_garage(people)
        with viewing_as(people.chief.pk):
            sheet = garage.sheet(people.chief)
            typed = everything(Measure.objects.in_bulk())
            take_typed(by=people.chief, sheet=sheet, typed=typed)
        try:
            yield people.chief, sheet
        finally:
            with connections["owner"].cursor() as cursor:
                cursor.execute("TRUNCATE printing_storedprint CASCADE")


def ask(chief: User, sheet: Sheet) -> PrintJob:
    with viewing_as(chief.pk):
        return ask_for_print(by=chief, document=SETUP_SHEET.key, subject_id=sheet.pk)


def forget(chief: User, job: PrintJob) -> None:
    """Removes the file, or the next one would not be rendered at all."""
    with viewing_as(chief.pk):
        done = PrintJob.objects.get(pk=job.pk)
        assert done.state == PrintJob.State.DONE
    assert done.stored_id is not None
    store.path_of(done.stored_id).unlink()


def seconds(call: Callable[[], object]) -> float:
    started = time.perf_counter()
    call()
    return time.perf_counter() - started


def test_a_setup_sheet(benchmark: BenchmarkFixture, chief_and_sheet: tuple[User, Sheet]) -> None:
    chief, sheet = chief_and_sheet
    with viewing_as(chief.pk):
        html = SETUP_SHEET.html(sheet, chief)

    def bare() -> bytes:
        sheets = [CSS(string=text) for text in (paper(), *map(style, SETUP_SHEET.styles))]
        pdf: bytes = HTML(string=html, base_url=BASE).write_pdf(stylesheets=sheets)
        return pdf

    def ours() -> float:
        job = ask(chief, sheet)
        took = seconds(lambda: work.make_print(job.pk))
        forget(chief, job)
        return took

    bare(), ours()  # fonts and code are warm in a worker
    turns = [(seconds(bare), ours()) for _ in range(ROUNDS)]
    ratio = statistics.median(mine / theirs for theirs, mine in turns)
    benchmark.extra_info.update(
        bare_ms=round(1000 * statistics.median(theirs for theirs, _ in turns), 1),
        ours_ms=round(1000 * statistics.median(mine for _, mine in turns), 1),
        ratio=round(ratio, 3),
    )
    benchmark.pedantic(ours, rounds=sizes.of(3))
    print(f"\n{benchmark.extra_info}")  # noqa: T201  # what it is run for
    assert sizes.tiny or ratio <= AIM
