"""The pieces that `up` is made of, each by itself."""

import socket
import subprocess
import sys
from pathlib import Path

import pytest

from clubsetup.runtime import network
from clubsetup.runtime.embedded import LONGEST_FOLDER, Embedded, EmbeddedError
from clubsetup.runtime.libraries import NEEDED, how_to_install, missing_packages
from clubsetup.runtime.only_one import AlreadyRunningError, only_one
from tests.runtime.service import HOUSE, free_port


class TestLibraries:
    def test_what_is_there_is_not_missed(self) -> None:
        assert missing_packages() == []

    def test_what_is_missing_is_named_with_its_package(self) -> None:
        needed = {
            "libnot-there-at-all.so.7": "libnot-there7",
            "libpango-1.0.so.0": "libpango-1.0-0",
        }
        assert missing_packages(needed) == ["libnot-there7"]
        assert "apt-get install libnot-there7" in how_to_install(["libnot-there7"])

    def test_the_list_is_all_that_weasyprint_loads(self) -> None:
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
