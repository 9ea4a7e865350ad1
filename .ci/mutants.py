"""Mutation tests: each small change to what decides something must make a test fail.

    uv run --group mutants python .ci/mutants.py SUBJECT...   a subject; all of them without one
    uv run --group mutants python .ci/mutants.py NAME...      mutants by the names the run prints
    ... --every 4                               a sample: each fourth mutant
    ... --why                                   and what failed with each
    ... --left                                  those that no run has tried yet
    uv run --group mutants mutmut show NAME                     what such a mutant changes

mutmut makes the mutants; [tool.mutmut] in pyproject.toml says of which modules. What is otherwise
here than in `mutmut run`:
- It leaves alone every function with a decorator, which would be every action and every property.
  These two decorators are taken off the mutated copies and kept on what calls them.
- One pytest session tries all mutants, each with those tests of its subject's own files that come
  to its function. A process for each would cost more than the tests, with a database far more.
- Before it and after it every test must pass with nothing mutated.
"""

import argparse
import fnmatch
import os
import signal
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

import libcst as cst
import pytest
from _pytest.runner import runtestprotocol
from mutmut import __main__ as mutmut
from mutmut.configuration import config
from mutmut.mutation import file_mutation
from mutmut.mutation.trampoline import set_mutant_under_test
from mutmut.state import state
from mutmut.utils.file_utils import change_cwd
from mutmut.utils.format_utils import mangled_name_from_mutant_name

KEPT = "CLUBSETUP_TEST_DATABASE_KEPT"
DATABASE = Path("mutants/migrated").resolve()
UNWRAPPED = {"action", "property"}
# Of one test, on the processor and not on the clock: a busy machine is no endless loop.
SECONDS = 20
SURVIVED, KILLED, NO_TEST, ENDLESS = 0, 1, 33, 36  # as mutmut keeps them


@dataclass(frozen=True)
class Subject:
    """The modules that are mutated, and the test files that are to notice."""

    modules: list[str]
    tests: list[str]
    # Whether tests that ask for the database are among them; else they are left out.
    asks_database: bool = False

    def has(self, mutant: str) -> bool:
        """Whether a mutant, or a pattern of mutants, is of one of the modules."""
        return mutant.startswith(tuple(f"{module}." for module in self.modules))


SUBJECTS = {
    "judgement": Subject(["cars.figures.judgement"], ["tests/cars/test_judgement.py"]),
    "decision": Subject(["events.rules.decision"], ["tests/rules/test_decision.py"]),
    "permissions": Subject(
        ["teams.permissions", "cars.permissions", "events.permissions"],
        [f"tests/{app}/test_permissions.py" for app in ("teams", "cars", "events")],
    ),
    "staleness": Subject(["cars.catalogue.staleness"], ["tests/cars/plans/test_retake.py"]),
    "chain": Subject(["events.rules.chain"], ["tests/rules/test_rule_chain.py"]),
    "calibration": Subject(
        ["cars.mechanics.calibration"],
        [f"tests/mechanics/test_calibration{of}.py" for of in ("", "_inputs", "_doubt")],
    ),
    "readings": Subject(
        [
            "cars.sheets.actions.readings",
            "cars.sheets.actions.replacing",
            "cars.sheets.actions.save_boxes",
        ],
        ["tests/cars/test_readings.py"],
        asks_database=True,
    ),
    "entering": Subject(
        ["events.records.actions.chain"],
        ["tests/events/test_record_chain.py"],
        asks_database=True,
    ),
}


def mutate_what_is_wrapped() -> None:
    """Has mutmut go into actions and properties too."""
    skip = file_mutation.MutationVisitor._skip_node_and_children
    arrange = file_mutation.function_trampoline_arrangement

    def skip_less(self: file_mutation.MutationVisitor, node: cst.CSTNode) -> bool:
        return not _is_unwrapped(node) and skip(self, node)

    def arrange_bare(
        function: cst.FunctionDef, mutants: Iterable[Any], class_name: str | None
    ) -> tuple[Sequence[Any], Sequence[Any], Sequence[Any], Sequence[str]]:
        if not _is_unwrapped(function):
            return arrange(function, mutants, class_name)
        bare = function.with_changes(decorators=[])
        before, (called, *copies), after, names = arrange(bare, mutants, class_name)
        decorators = [*function.decorators, *called.decorators]
        return before, [called.with_changes(decorators=decorators), *copies], after, names

    file_mutation.MutationVisitor._skip_node_and_children = skip_less
    file_mutation.function_trampoline_arrangement = arrange_bare


def _is_unwrapped(node: cst.CSTNode) -> bool:
    if not isinstance(node, cst.FunctionDef) or len(node.decorators) != 1:
        return False
    decorator = node.decorators[0].decorator
    return isinstance(decorator, cst.Name) and decorator.value in UNWRAPPED


def make_mutants() -> None:
    """All of them, in a copy of the sources under mutants/, from which the tests then import."""
    Path("mutants").mkdir(exist_ok=True)
    mutmut.copy_src_dir()
    mutmut.copy_also_copy_files()
    mutmut.setup_source_paths()
    with mutmut.CatchOutput():
        mutmut.create_mutants(1)


class Endless(BaseException):
    """A test took too long."""


@contextmanager
def limited() -> Iterator[None]:
    """Raises Endless in what takes too long."""

    def end(_signal: int, _frame: FrameType | None) -> None:
        raise Endless

    before = signal.signal(signal.SIGVTALRM, end)
    signal.setitimer(signal.ITIMER_VIRTUAL, SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


class MutantRun:
    """A pytest plugin: the session tries one mutant after the other."""

    def __init__(self, subjects: list[Subject], wanted: Callable[[str, int | None], bool]) -> None:
        self.subjects = subjects
        every, self.data = mutmut.collect_source_file_mutation_data(mutant_names=[])
        self.mutants = [(data, name) for data, name, result in every if wanted(name, result)]

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """In place of running each test once."""
        write = session.config.pluginmanager.get_plugin("terminalreporter").write_line
        tests = [item for item in session.items if self._belongs(item)]
        reach = {item: self._functions_of(item) for item in tests}
        for place, (data, name) in enumerate(self.mutants, start=1):
            function = mangled_name_from_mutant_name(name)
            result = _try(name, [item for item in tests if function in reach[item]])
            data.exit_code_by_key[name] = result
            if result != KILLED:
                write(f"{place}/{len(self.mutants)} {_WORDS[result]}: {name}")
            if place % 20 == 0:
                self.save()
        self.save()
        for item in tests:
            _must_pass(item, "")
        return True

    def save(self) -> None:
        """What is known so far, for the next run and for `mutmut results`."""
        with change_cwd(".."):
            for data in {id(data): data for data, _ in self.mutants}.values():
                data.save()

    def _belongs(self, item: pytest.Item) -> bool:
        """Whether it is a test of a subject; only some of them may ask for the database."""
        file = item.nodeid.partition("::")[0]
        fast = item.get_closest_marker("fast") is not None
        return any(file in one.tests and (fast or one.asks_database) for one in self.subjects)

    def _functions_of(self, item: pytest.Item) -> set[str]:
        """The functions that a test comes to, of its own subject."""
        state()._stats.clear()
        _must_pass(item, "stats")
        file = item.nodeid.partition("::")[0]
        own = [one for one in self.subjects if file in one.tests]
        return {name for name in state()._stats if any(one.has(name) for one in own)}


_WORDS = {SURVIVED: "survived", KILLED: "killed", NO_TEST: "no test", ENDLESS: "endless"}


def _must_pass(item: pytest.Item, mutant: str) -> None:
    set_mutant_under_test(mutant)
    for report in runtestprotocol(item, log=False, nextitem=item.session):
        if report.failed:
            pytest.exit(f"fails with nothing mutated: {item.nodeid}\n{report.longreprtext}", 1)


def _try(mutant: str, tests: list[pytest.Item]) -> int:
    """Whether a test fails with this mutant; those that killed most before come first."""
    set_mutant_under_test(mutant)
    for item in sorted(tests, key=lambda item: -_KILLS[item.nodeid]):
        try:
            with limited():
                reports = runtestprotocol(item, log=False, nextitem=item.session)
        except Endless:
            return ENDLESS
        if failed := [report for report in reports if report.failed]:
            _KILLS[item.nodeid] += 1
            _REASONS[mutant] = failed[0].longreprtext
            return KILLED
    return SURVIVED if tests else NO_TEST


_KILLS: defaultdict[str, int] = defaultdict(int)
_REASONS: dict[str, str] = {}


def tell(run: MutantRun) -> None:
    """Killed and all, module by module, of those that have been tried at any time."""
    for path, data in sorted(run.data.items()):
        tried = [result for result in data.exit_code_by_key.values() if result is not None]
        killed = sum(result in (KILLED, ENDLESS) for result in tried)
        if tried:
            share = f"{killed / len(tried):6.1%}"
            of = f"{len(tried)} tried of {len(data.exit_code_by_key)}"
            sys.stdout.write(f"{path:40} {killed:4} killed, {share} ({of})\n")


def main() -> int:
    """pytest's exit code."""
    words = argparse.ArgumentParser(usage=__doc__)
    words.add_argument("asked", nargs="*")
    words.add_argument("--every", type=int, default=1)
    words.add_argument("--left", action="store_true")
    words.add_argument("--why", action="store_true")
    given = words.parse_args()
    patterns = [name for name in given.asked if name not in SUBJECTS]
    subjects = [
        subject
        for name, subject in SUBJECTS.items()
        if not given.asked or name in given.asked or any(map(subject.has, patterns))
    ]
    whole = [s for name, s in SUBJECTS.items() if not given.asked or name in given.asked]
    met = iter(range(sys.maxsize))

    def wanted(name: str, result: int | None) -> bool:
        asked = any(one.has(name) for one in whole) or any(
            fnmatch.fnmatch(name, pattern) for pattern in patterns
        )
        return asked and next(met) % given.every == 0 and not (given.left and result is not None)

    os.environ.setdefault(KEPT, str(DATABASE))
    mutate_what_is_wrapped()
    make_mutants()
    run = MutantRun(subjects, wanted)
    house = Path.cwd()
    os.chdir("mutants")
    files = [file for subject in subjects for file in subject.tests]
    try:
        status = pytest.main(["--rootdir=.", *config().pytest_add_cli_args, *files], plugins=[run])
    finally:
        os.chdir(house)
    tell(run)
    for mutant, reason in _REASONS.items() if given.why else ():
        sys.stdout.write(f"\n{mutant}\n{reason}\n")
    return int(status)


if __name__ == "__main__":
    sys.exit(main())
