"""How much was tried, counted over all workers and printed after the run.

A figure says how often the walls were pushed; whether they stood is what the tests say.
"""

from collections import Counter
from typing import Any

import pytest

PAIRS = "address and person asked"
STATEMENTS = "statement as the database's role"
CALLS = "call with nonsense"
WALLS = ("tests/access/", "tests/attacks/", "tests/guards/test_urls.py", "tests/guards/test_api.py")
FALLS = (
    "tests/guards/test_no_server_error.py",
    "tests/guards/test_api_conforms.py",
    "tests/attacks/test_nonsense.py",
)

tried: Counter[str] = Counter()
gone_wrong: Counter[str] = Counter()


def count(what: str, times: int = 1) -> None:
    """Something was tried."""
    tried[what] += times


class Figures:
    """The plugin: a worker sends its counts to the one who started it."""

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        """In a worker: leave the counts where the controller finds them."""
        output = getattr(session.config, "workeroutput", None)
        if output is not None:
            output["tried"] = dict(tried)

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: Any) -> None:
        """In the controller: take a worker's counts."""
        tried.update(getattr(node, "workeroutput", {}).get("tried", {}))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """What failed, by what it stands for."""
        if report.failed:
            gone_wrong["falls"] += report.nodeid.startswith(FALLS)
            gone_wrong["walls"] += report.nodeid.startswith(WALLS)

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        """The figures, where there are any."""
        if not tried:
            return
        terminalreporter.section("walls")
        for what, times in sorted(tried.items()):
            terminalreporter.write_line(f"{times:>9,}  {what}")
        terminalreporter.write_line(f"{gone_wrong['walls']:>9,}  test that found a way through")
        terminalreporter.write_line(f"{gone_wrong['falls']:>9,}  test that met a server error")
