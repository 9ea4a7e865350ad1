"""The pieces that `up` is made of, each by itself."""

import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path
from queue import Empty

import psycopg
import pytest
from kombu import Connection

from clubsetup.runtime import network, postgres
from clubsetup.runtime.embedded import LONGEST_FOLDER, Embedded
from clubsetup.runtime.file_queue import Transport, forget_drafts
from clubsetup.runtime.libraries import NEEDED, missing_libraries, prints_wait_for
from clubsetup.runtime.only_one import AlreadyRunningError, only_one
from clubsetup.runtime.postgres import EmbeddedError
from clubsetup.runtime.roles import RoleMissing, ensure_app_role
from tests.here import need_prints
from tests.runtime.service import HOUSE, free_port


class TestLibraries:
    def test_what_is_there_is_not_missed(self) -> None:
        need_prints()
        assert missing_libraries() == []
        assert prints_wait_for() == ""

    def test_what_is_missing_is_named(self) -> None:
        assert missing_libraries(["libnot-there-at-all.so.7", "libc.so.6"]) == [
            "libnot-there-at-all.so.7"
        ]

    def test_the_list_is_all_that_weasyprint_loads(self) -> None:
        need_prints()
        # A process of its own, because this one may have loaded anything by now.
        code = (
            "import weasyprint, pathlib;"
            "weasyprint.HTML(string='<p>x').write_pdf();"
            "print(*{line.split()[-1] for line in open('/proc/self/maps') if '.so' in line})"
        )
        loaded = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        ).stdout
        for library in NEEDED:
            assert library.removesuffix(".0").removesuffix(".1") in loaded


class TestOnlyOne:
    def test_the_second_is_told_what_the_first_is(self, tmp_path: Path) -> None:
        lock = tmp_path / "lock"
        with only_one(lock, "http://here/"):  # noqa: SIM117
            with pytest.raises(AlreadyRunningError, match="http://here/"), only_one(lock, "x"):
                pass
        with only_one(lock, "free again"):
            pass

    def test_a_killed_holder_holds_nothing(self, tmp_path: Path) -> None:
        lock = tmp_path / "lock"
        code = (
            "import os, signal; from pathlib import Path;"
            "from clubsetup.runtime.only_one import only_one\n"
            f"with only_one(Path({str(lock)!r}), 'me'): os.kill(os.getpid(), signal.SIGKILL)"
        )
        ended = subprocess.run([sys.executable, "-c", code], cwd=HOUSE, check=False)
        assert ended.returncode == -9
        with only_one(lock, "next"):
            pass


class TestNetwork:
    def test_a_local_service_answers_to_local_names_only(self) -> None:
        assert network.allowed_hosts("127.0.0.1") == ["localhost", "127.0.0.1", "[::1]"]
        assert network.addresses("127.0.0.1", 8000) == ["http://127.0.0.1:8000/"]

    def test_an_open_one_answers_to_every_address_of_the_machine(self) -> None:
        hosts = network.allowed_hosts("0.0.0.0")
        assert "*" not in hosts
        assert socket.gethostname() in hosts
        assert set(network.own_addresses()) <= set(hosts)
        assert not [address for address in network.own_addresses() if address.startswith("127.")]

    def test_a_taken_port_is_not_free(self) -> None:
        port = free_port()
        assert network.is_free("127.0.0.1", port)
        with socket.create_server(("127.0.0.1", port)):
            assert not network.is_free("127.0.0.1", port, seconds=0)
            assert network.answers("127.0.0.1", port)
        assert not network.answers("127.0.0.1", port)


def test_a_folder_whose_socket_could_not_be_made_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / ("x" * LONGEST_FOLDER)
    with pytest.raises(EmbeddedError, match="CLUBSETUP_DATA"):
        Embedded(folder)
    assert not folder.exists()


def modes(*folders: Path) -> dict[Path, tuple[int, int]]:
    return {f: (f.stat().st_mode, f.stat().st_uid) for f in folders}


def test_the_embedded_server_opens_no_folder_and_leaves_nothing_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A home that nobody else may enter, as root's is, with the programs in it too.
    home, temporary = tmp_path / "home", tmp_path / "t"
    home.mkdir(mode=0o700)
    temporary.mkdir()
    wheel = postgres.programs().parent.parent
    ours = home / wheel.name
    shutil.copytree(wheel / "pginstall18", ours / "pginstall18", symlinks=True)
    shutil.copytree(wheel.with_suffix(".libs"), ours.with_suffix(".libs"))
    monkeypatch.setattr(postgres, "programs", lambda: ours / "pginstall18" / "bin")
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    house = [*home.rglob("*"), home, *home.parents, *Path(sys.prefix).parents]
    before, users = modes(*house), Path("/etc/passwd").read_text()
    server = Embedded(home / "data" / "database")
    try:
        with psycopg.connect(server.prepare()) as connection:
            assert connection.execute("SELECT 1").fetchone() == (1,)
        assert server.is_running()
        assert (home / "data" / "database").stat().st_mode & 0o777 == 0o700
        assert modes(*house) == before
        assert Path("/etc/passwd").read_text() == users
        assert not list(temporary.iterdir())
    finally:
        server.stop()
    assert not server.is_running()


class TestRestrictedRole:
    def test_is_made_once_and_kept(self, embedded: Embedded) -> None:
        admin = embedded.url("postgres", "postgres")
        for password in ("first", "second"):
            ensure_app_role(admin, name="made_by_test", password=password)
        with psycopg.connect(admin) as connection:
            row = connection.execute(
                "SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb, rolcanlogin "
                "FROM pg_roles WHERE rolname = 'made_by_test'"
            ).fetchone()
        assert row == (False, False, False, False, True)

    def test_an_owner_who_may_not_make_it_is_told_what_to_do(self, embedded: Embedded) -> None:
        owner = embedded.prepare("roles")
        with pytest.raises(RoleMissing, match="CREATE ROLE not_there LOGIN"):
            ensure_app_role(owner, name="not_there")

    def test_one_that_could_see_past_the_policies_is_refused(self, embedded: Embedded) -> None:
        admin = embedded.url("postgres", "postgres")
        with psycopg.connect(admin, autocommit=True) as connection:
            connection.execute("CREATE ROLE all_seeing LOGIN BYPASSRLS")
        with pytest.raises(RoleMissing, match="bypass row security"):
            ensure_app_role(admin, name="all_seeing")


class TestFileQueue:
    def test_what_is_sent_is_taken_once_oldest_first(self, tmp_path: Path) -> None:
        for name in ("in", "taken", "control"):
            (tmp_path / name).mkdir()
        options = {
            "data_folder_in": str(tmp_path / "in"),
            "data_folder_out": str(tmp_path / "in"),
            "processed_folder": str(tmp_path / "taken"),
            "control_folder": str(tmp_path / "control"),
        }
        with (
            Connection(
                "filesystem://", transport=Transport, transport_options=options
            ) as connection,
            connection.SimpleQueue("bell") as one,
            connection.SimpleQueue("bell") as other,
        ):
            for text in ("first", "second"):
                one.put(text)
            (tmp_path / "in" / "0_torn.bell.msg").write_text('{"body"')
            assert [one.get(timeout=5).payload, other.get(timeout=5).payload] == ["first", "second"]
            with pytest.raises(Empty):
                one.get(timeout=0.1)
        assert not list((tmp_path / "taken").iterdir())
        (tmp_path / "taken" / "left.draft").touch()
        forget_drafts(tmp_path / "taken")
        assert not list((tmp_path / "taken").iterdir())
