"""Mutation tests: each small change to what decides something must make a test fail.

    uv run python .ci/mutants.py SUBJECT...     a subject below, or all of them without one
    uv run python .ci/mutants.py NAME...        single mutants, by the names that the run prints
    uv run mutmut show NAME                     what such a mutant changes

mutmut does the work; [tool.mutmut] in pyproject.toml says which modules. Two things are added here.
It leaves alone every function with a decorator, which here would be every action and every
property: these two decorators are taken off the mutated copies and kept on what calls them. And
each subject has its own few tests, since all of them for each mutant would take days.
"""

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

KEPT = "CLUBSETUP_TEST_DATABASE_KEPT"
DATABASE = Path("mutants/database").resolve()
UNWRAPPED = {"action", "property"}

# A subject: the modules that are mutated, and the tests that are to notice.
SUBJECTS: dict[str, tuple[list[str], list[str]]] = {
    "judgement": (["cars.figures.judgement"], ["tests/cars/test_judgement.py"]),
    "decision": (["events.rules.decision"], ["tests/rules/test_decision.py"]),
    "staleness": (["cars.catalogue.staleness"], ["tests/cars/test_staleness.py"]),
    "calibration": (
        ["cars.mechanics.calibration"],
        ["tests/mechanics/test_calibration.py", "tests/mechanics/test_calibration_inputs.py"],
    ),
    "permissions": (
        ["teams.permissions", "cars.permissions", "events.permissions"],
        ["tests/teams/test_may.py", "tests/cars/test_may.py", "tests/events/test_may.py"],
    ),
    "readings": (
        ["cars.sheets.actions.readings", "cars.sheets.actions.replacing", "cars.sheets.save_boxes"],
        ["tests/cars/test_readings.py"],
    ),
    "chain": (
        ["events.rules.chain", "events.actions.record_chain"],
        ["tests/rules/test_rule_chain.py", "tests/events/test_record_chain.py"],
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


def run(names: list[str], tests: list[str]) -> None:
    """These mutants against these tests, one at a time."""
    config().pytest_add_cli_args_test_selection[:] = tests
    mutmut._run(names, 1)


def in_a_child(work: Callable[..., None], *given: Any) -> int:
    """A subject's modules are loaded mutated, so each has a process of its own."""
    child = multiprocessing.Process(target=work, args=given)
    child.start()
    child.join()
    return child.exitcode or 0


def stop_database() -> None:
    """Ends the server that the tests of all subjects shared, if one was needed."""
    note = DATABASE / "postmaster.pid"
    if note.exists():
        os.kill(int(note.read_text().split()[0]), signal.SIGINT)


def main(asked: list[str]) -> int:
    """The worst exit code of all subjects."""
    os.environ.setdefault(KEPT, str(DATABASE))
    mutate_what_is_wrapped()
    worst = 0
    for subject, (modules, tests) in SUBJECTS.items():
        names = [name for name in asked if any(name.startswith(f"{m}.") for m in modules)]
        if subject in asked or not asked:
            names = [f"{module}.*" for module in modules]
        if names:
            worst = max(worst, in_a_child(run, names, tests))
    stop_database()
    return worst


if __name__ == "__main__":
    multiprocessing.set_start_method("fork", force=True)
    sys.exit(main(sys.argv[1:]))
