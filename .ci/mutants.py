"""Mutation tests: each small change to what decides something must make a test fail.

    uv run python .ci/mutants.py SUBJECT...     a subject below, or all of them without one
    uv run python .ci/mutants.py NAME...        single mutants, by the names that the run prints
    ... --every 4                               a sample: each fourth mutant
    ... --left                                  those that no run has tried yet
    uv run mutmut show NAME                     what such a mutant changes

mutmut does the work; [tool.mutmut] in pyproject.toml says which modules. Two things are added here.
It leaves alone every function with a decorator, which here would be every action and every
property: these two decorators are taken off the mutated copies and kept on what calls them. And
each subject has its own few tests, since all of them for each mutant would take days.
"""

import argparse
import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import libcst as cst
from mutmut import __main__ as mutmut
from mutmut.configuration import config
from mutmut.mutation import file_mutation
from mutmut.workers.isolation import ForkRunner

KEPT = "CLUBSETUP_TEST_DATABASE_KEPT"
DATABASE = Path("mutants/database").resolve()
UNWRAPPED = {"action", "property"}

# A subject: the modules that are mutated, and the tests that are to notice.
Subjects = dict[str, tuple[list[str], list[str]]]
FAST: Subjects = {
    "judgement": (["cars.figures.judgement"], ["tests/cars/test_judgement.py"]),
    "decision": (["events.rules.decision"], ["tests/rules/test_decision.py"]),
    "permissions": (
        ["teams.permissions", "cars.permissions", "events.permissions"],
        [f"tests/{app}/test_permissions.py" for app in ("teams", "cars", "events")],
    ),
    "staleness": (["cars.catalogue.staleness"], ["tests/cars/plans/test_retake.py"]),
    "chain": (["events.rules.chain"], ["tests/rules/test_rule_chain.py"]),
    "calibration": (
        ["cars.mechanics.calibration"],
        ["tests/mechanics/test_calibration.py", "tests/mechanics/test_calibration_inputs.py"],
    ),
}
WITH_DATABASE: Subjects = {
    "readings": (
        ["cars.sheets.actions.readings", "cars.sheets.actions.replacing", "cars.sheets.save_boxes"],
        ["tests/cars/test_readings.py"],
    ),
    "entering": (["events.actions.record_chain"], ["tests/events/test_record_chain.py"]),
}
# Of the tests of the first, those that ask for no database.
GROUPS: list[tuple[Subjects, list[str]]] = [(FAST, ["-m", "fast"]), (WITH_DATABASE, [])]


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


def choose(every: int, left: bool) -> None:
    """Has mutmut try a sample, or what is left, of those that it is asked for."""
    collect = mutmut.collect_source_file_mutation_data

    def chosen(*, mutant_names: Sequence[str]) -> tuple[list[Any], dict[str, Any]]:
        mutants, data = collect(mutant_names=mutant_names)
        return [one for one in mutants[::every] if not (left and one[2] is not None)], data

    mutmut.collect_source_file_mutation_data = chosen


def run_each_test_once_before() -> None:
    """The run that notes which test comes to which function is new each time, and shows that all
    pass where nothing is mutated; mutmut would run them twice more."""
    Path("mutants/mutmut-stats.json").unlink(missing_ok=True)
    ForkRunner.run_clean_tests = lambda *_, **__: 0
    mutmut.run_forced_fail_test = lambda *_: None


def run(names: list[str], tests: list[str]) -> None:
    """These mutants against these tests, one at a time."""
    config().pytest_add_cli_args_test_selection[:] = tests
    mutmut._run(names, 1)


def in_a_child(work: Callable[..., None], *given: Any) -> int:
    """Modules are loaded mutated, so each group has a process of its own."""
    child = multiprocessing.Process(target=work, args=given)
    child.start()
    child.join()
    return child.exitcode or 0


def stop_database() -> None:
    """Ends the server that the tests of all subjects shared, if one was needed."""
    note = DATABASE / "postmaster.pid"
    if note.exists():
        os.kill(int(note.read_text().split()[0]), signal.SIGINT)


def main() -> int:
    """The worst exit code of all subjects."""
    words = argparse.ArgumentParser(usage=__doc__)
    words.add_argument("asked", nargs="*")
    words.add_argument("--every", type=int, default=1)
    words.add_argument("--left", action="store_true")
    given = words.parse_args()
    asked: list[str] = given.asked
    choose(given.every, given.left)
    os.environ.setdefault(KEPT, str(DATABASE))
    mutate_what_is_wrapped()
    worst = 0
    for subjects, options in GROUPS:
        names, tests = wanted(asked, subjects)
        if names:
            run_each_test_once_before()
            worst = max(worst, in_a_child(run, names, [*options, *tests]))
    stop_database()
    return worst


def wanted(asked: list[str], subjects: Subjects) -> tuple[list[str], list[str]]:
    """The mutants of a group that are asked for, as patterns, and the tests that are to notice."""
    names, tests = [], []
    for subject, (modules, theirs) in subjects.items():
        chosen = [f"{module}.*" for module in modules] if subject in asked or not asked else []
        chosen += [name for name in asked if name.startswith(tuple(f"{m}." for m in modules))]
        names += chosen
        tests += theirs if chosen else []
    return names, tests


if __name__ == "__main__":
    multiprocessing.set_start_method("fork", force=True)
    sys.exit(main())
