"""`up` on a machine without the libraries for prints: everything runs, and prints wait for them.

The loader itself does not find them: an empty file stands before each in its path. Taking these
files away is what installing the libraries is.
"""

import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader

from clubsetup.runtime.libraries import NEEDED, PACKAGES, PRINTS_WAIT
from tests.here import need_prints
from tests.runtime.service import HOUSE, Service, until

README = (HOUSE / "README.md").read_text()


def hide(folder: Path, *libraries: str) -> str:
    """A path for the loader in which none of these can be loaded."""
    folder.mkdir(exist_ok=True)
    for library in libraries:
        (folder / library).touch()
    return str(folder)


@pytest.fixture
def hidden(tmp_path: Path) -> Path:
    return tmp_path / "hidden"


@pytest.fixture
def service(tmp_path: Path, hidden: Path) -> Iterator[Service]:
    one = Service(tmp_path / "data", LD_LIBRARY_PATH=hide(hidden, *NEEDED))
    yield one
    one.kill_everything()


def test_it_starts_and_a_print_comes_when_the_library_is_there(
    service: Service, hidden: Path
) -> None:
    need_prints()
    service.start()
    # The line comes with the address, and the last of them closes what `up` says.
    until(lambda: "Ctrl-C" in service.said(), "all that it says")
    assert service.said().count(PRINTS_WAIT) == 1
    service.sign_in()

    job_id = service.ask_for_print()
    held_up = until(lambda: (row := service.job(job_id))["problem"] and row, "the worker's word")
    assert (held_up["state"], held_up["attempts"]) == ("waiting", 0)
    # The worker is asked again and again, and no attempt is used up.
    sent = held_up["sent_at"]
    until(lambda: service.job(job_id)["sent_at"] > sent, "the next time it is sent")
    assert (row := service.job(job_id))["attempts"] == 0
    assert row["state"] == "waiting"
    assert PRINTS_WAIT in service.get("/prints/").decode()

    for library in hidden.iterdir():
        library.unlink()
    done = service.print_done(job_id)
    assert (done["state"], done["attempts"], done["problem"]) == ("done", 1, "")
    assert PRINTS_WAIT not in service.get("/prints/").decode()
    assert len(PdfReader(io.BytesIO(service.get(f"/prints/{job_id}/file"))).pages) > 5


TRY = (
    "from clubsetup.runtime.libraries import missing_libraries;"
    "print(*missing_libraries());"
    "import weasyprint;"
    "print(len(weasyprint.HTML(string='<p>A figure: 46 5/16').write_pdf()))"
)


def tried_without(library: str, folder: Path) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "LD_LIBRARY_PATH": hide(folder, library)}
    return subprocess.run(
        [sys.executable, "-W", "ignore", "-c", TRY],
        cwd=HOUSE,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("library", NEEDED)
def test_what_is_asked_for_is_what_prints_cannot_do_without(library: str, hidden: Path) -> None:
    need_prints()
    tried = tried_without(library, hidden)
    # Others that are built on it cannot be loaded either.
    assert library in tried.stdout.splitlines()[0].split()
    assert tried.returncode == 1
    assert "OSError" in tried.stderr


@pytest.mark.parametrize("library", ["libharfbuzz-subset.so.0", "libharfbuzz-vector.so.0"])
def test_what_prints_can_do_without_is_not_asked_for(library: str, hidden: Path) -> None:
    need_prints()
    tried = tried_without(library, hidden)
    assert tried.returncode == 0, tried.stderr
    missing, size = tried.stdout.splitlines()
    assert missing == ""
    assert int(size) > 1000


def packages(text: str) -> set[str]:
    """What the lines of a shell install."""
    found = re.findall(r"apt-get install -y ([a-z0-9. -]+)", text)
    return {name for names in found for name in names.split()}


def test_the_first_command_installs_what_prints_need() -> None:
    first = next(line for line in README.splitlines() if "manage.py up --demo" in line)
    assert set(PACKAGES) <= packages(first)
    assert all(package in PRINTS_WAIT for package in PACKAGES)


def test_the_whole_check_installs_what_the_readme_names_and_nothing_else() -> None:
    check = (HOUSE / ".ci" / "run").read_text()
    listed = check.split("PACKAGES=(")[1].split("\n)")[0]
    names = {n for line in listed.splitlines() for n in line.split("#")[0].split()}
    assert names == packages(README)
    assert len(re.findall(r"apt-get install", check)) == 1
    assert re.findall(r"pip install (\S+)", check) == ["uv"]
