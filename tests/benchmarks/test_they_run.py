"""Every benchmark, loader and fuzz script runs at a tiny size, so that none rots between two uses.

Each prints its figures, which at this size tell nothing of speed. All of `bench_*.py` run in one
process with one database.
"""

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.here import need_browser, need_prints

HERE = Path(__file__).resolve().parent
HOUSE = HERE.parents[1]
BENCHMARKS = sorted(path.name for path in HERE.glob("bench_*.py"))
# What these print; the others have their figures in the table of times.
PRINTS = {
    "bench_archive.py": r"an archive with \d+ readings made: \d+ MB(.|\n)*brought in: \d+ MB",
    "bench_bench_entry.py": r"'readings': \d+.*'server_seconds'(.|\n)*'waited'",
    "bench_chain.py": r"entering 4 lines +[\d.]+ ms by the clock",
    "bench_print.py": r"'bare_ms': [\d.]+, 'ours_ms': [\d.]+",
    "bench_row_security.py": r"readings in \d+ s(.|\n)*one reading .* ms with,(.|\n)*sheets page",
    "bench_signed_viewer.py": r"one call, checked: [\d.]+ ms",
}
NEEDS: dict[str, tuple[Callable[[], None], ...]] = {
    "bench_bench_entry.py": (need_browser,),
    "bench_print.py": (need_prints,),
}
SCRIPTS = {
    "fuzz_quantities": (
        ("--count", "200"),
        r"200 strings, seed 1: \d+ read, \d+ refused, none broke",
    ),
    "load_desk": (
        ("--tiny", "--seed", "1"),
        r"never kept: 0;(.|\n)*weigh-ins 3, stored 3, lost 0, without .* 0;",
    ),
    "load_people": (("--tiny",), r"3 at once, pause 0 s: .* 0 failed"),
    "table_helped": (
        ("--days", "7", "--seed", "1"),
        r"7 days of each effect, seed 1,(.|\n)*^all +covers +[\d.]+ % of 21, .*\| laps: covers",
    ),
    "page_cpu": (("--tiny",), r"medians of 2 visits(.|\n)*^home +\d+( +[\d.]+){3}(.|\n)*^track "),
    "table_true_effects": ((), r"^of each day: \d+ of \d+ (.|\n)*^over all days: \d+ of \d+ "),
    # Three clubs with the demo's second one; the old car's sheets are there beside all others.
    "page_times": (
        ("--tiny",),
        r"both: 3 club, 1,083 sheet,(.|\n)*\| +p50 ms(.|\n)*"
        r"^API plans( +\|( +[\d,]+){5} +[-+]\d+%){5}",
    ),
}
# Of load_desk, of bench_row_security and of page_times.
PARTS = {
    *("desk_event.py", "desk_visitors.py", "many.py"),
    *("copies.py", "cpu.py", "demo_server.py", "statements.py", "timed_pages.py"),
}
OURS = {"__init__.py", "conftest.py", "sizes.py", "test_they_run.py"}


def _environment() -> dict[str, str]:
    """Without what this run has set for itself: a database and a data folder of their own."""
    ours = ("DATABASE_URL", "DATABASE_APP_URL", "CLUBSETUP_DATA", "DJANGO_SETTINGS_MODULE")
    return {
        name: value
        for name, value in os.environ.items()
        if name not in ours and not name.startswith("PYTEST_")
    }


def _run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", *words],
        cwd=HOUSE,
        env=_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def benchmarks() -> subprocess.CompletedProcess[str]:
    """All of them, once."""
    paths = [f"tests/benchmarks/{name}" for name in BENCHMARKS]
    return _run("pytest", "-n", "0", "--tiny", "-s", "-rA", *paths)


@pytest.mark.parametrize("name", BENCHMARKS)
def test_a_benchmark(name: str, benchmarks: subprocess.CompletedProcess[str]) -> None:
    for need in NEEDS.get(name, ()):
        need()
    said = benchmarks.stdout
    results = re.findall(rf"^(\w+) tests/benchmarks/{name}::(\w+)", said, re.MULTILINE)
    assert results, said
    assert {result for result, _ in results} == {"PASSED"}, said
    if name in PRINTS:
        assert re.search(PRINTS[name], said), said
        return
    for _, test in results:
        assert re.search(rf"^{test}\b.* \d", said, re.MULTILINE), said


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script(name: str) -> None:
    options, figures = SCRIPTS[name]
    done = _run(f"tests.benchmarks.{name}", *options)
    assert done.returncode == 0, done.stdout
    assert re.search(figures, done.stdout, re.MULTILINE), done.stdout


def test_none_is_left_out() -> None:
    run = {*BENCHMARKS, *(f"{name}.py" for name in SCRIPTS)}
    assert {path.name for path in HERE.glob("*.py")} == run | PARTS | OURS
