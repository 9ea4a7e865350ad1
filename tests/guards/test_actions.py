"""Every write is an action: keyword-only, atomic, with `by=`; the rest is listed with a reason."""

import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from types import FunctionType

import pytest

import cars
import events
import teams

NOT_ACTIONS = {
    "cars.exchange.actions.archive_attachment.attach": "part of an action: its attachment",
    "cars.exchange.actions.archive_restore.restore_archive": (
        "as the owner, from the command line: nobody is looking, and no team is there for a line"
    ),
    "cars.exchange.actions.archive_rows.check_whole": "part of an action: checks what it wrote",
    "cars.exchange.actions.archive_background.bring_archive_in": (
        "part of an action: calls the one that brings an archive in"
    ),
    "cars.exchange.actions.import_sending.drop_old_drafts": "the sweeper's: nobody is looking",
    "cars.handover.actions.run_unpacking.unpack_runs": "part of an action: the copies of runs",
    "cars.handover.actions.unpacking.unpack": "part of an action: the copies of a package",
    "cars.exchange.actions.archive_rows.refused": "says why an action refused",
    "cars.runs.actions.at_track.held_set_sheet": "part of an action: holds the sheet for it",
    "cars.sheets.actions.parts_fitted.check_place": "refuses, and writes nothing",
    "cars.runs.actions.at_track.set_sheet_of": "refuses, and writes nothing",
    "cars.runs.actions.at_track.time_at_track": "refuses, and writes nothing",
    "cars.runs.actions.runs.held_run": "part of an action: holds the run for it",
    "cars.sheets.actions.changes.checked_amount": "refuses, and writes nothing",
    "cars.sheets.actions.readings.locked_open": "part of an action: holds the sheet for it",
    "cars.sheets.actions.conflicts.is_seen": "compares, and writes nothing",
    "cars.sheets.actions.conflicts.last_replaced": "reads what an action refuses with",
    "cars.sheets.actions.conflicts.refuse_unseen": "refuses, and writes nothing",
    "cars.sheets.actions.conflicts.standing_in": "reads what an action replaces",
    "cars.sheets.actions.save_boxes.conflict_message": "says why an action refused",
    "cars.sheets.actions.save_boxes.save_box": "reads one box and calls its action",
    "cars.sheets.actions.save_boxes.save_boxes": "calls an action for each box by itself",
    "cars.sheets.actions.save_boxes.save_together": "reads all boxes and calls one action",
    "cars.sheets.actions.closed_figures.keep_figures": "part of an action, which leaves the line",
    "cars.sheets.actions.closed_figures.rebuild_figures": "the owner's command: nobody is looking",
    "cars.sheets.actions.copying.copy_readings": "part of an action, which leaves the line",
    "cars.sheets.actions.copying.copy_changes": "part of an action, which leaves the line",
    "cars.sheets.actions.copying.take_targets": "part of an action, which leaves the line",
    "cars.sheets.actions.set_sheet.set_sheet_for": "part of an action, whose check has been made",
    "cars.sheets.actions.set_sheet.locked_set_sheet": "part of an action, its check made",
    "cars.sheets.actions.ballast.place_piece": "part of an action, which saves and records",
    "cars.sheets.actions.set_sheet.set_target_source": "part of an action, its check made",
    "cars.sheets.actions.changes.write_change": "part of an action, whose check has been made",
    "cars.sheets.actions.parts_fitted.copy_parts": "part of an action, which leaves the line",
    "cars.exchange.actions.import_sending.send": "rings the worker's bell; writes nothing",
    "cars.exchange.actions.import_sending.send_unheld_imports": "the sweeper: nobody is looking",
    "cars.exchange.actions.import_work.work_on": "the worker: brings in by the action",
    "cars.exchange.actions.import_writing.write_rows": "part of an action, whose check was made",
    "events.records.actions.device_time.check_device_time": "refuses, and writes nothing",
    "events.actions.display_steps.refuse_between_steps": "refuses, and writes nothing",
    "events.records.actions.entry_lock.hold": "part of an action: two people wait for each other",
    "events.actions.findings.find_again": "part of an action, whose check has been made",
    "events.actions.findings.finding_fields": "computes what a finding keeps",
    "events.records.actions.photos.cleaned_photo": "computes",
    "events.records.actions.photos.keep_photo": "part of an action, whose check has been made",
    "events.records.actions.chain.enter_in_chain": "part of an action, its last write",
    "events.records.actions.chain.enter_where_under_way": "part of an action, its last write",
    "events.actions.rule_sets.declare_rule": "refuses or makes a rule, and writes nothing",
    "events.actions.rule_sets.refuse_unless_draft": "refuses, and writes nothing",
    "events.actions.rule_sets.refuse_unless_published": "writes nothing",
    "events.actions.weighing.u_of_total": "computes",
}


def public_functions() -> Iterator[tuple[str, FunctionType]]:
    """Every public function defined in a room of actions."""
    for package in (teams, cars, events):
        for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            if "actions" not in found.name.split("."):
                continue
            module = importlib.import_module(found.name)
            for name, function in inspect.getmembers(module, inspect.isfunction):
                if function.__module__ == found.name and not name.startswith("_"):
                    yield f"{found.name}.{name}", function


FOUND = dict(public_functions())


@pytest.mark.parametrize("name", sorted(FOUND))
def test_a_function_that_writes_is_an_action_or_listed(name: str) -> None:
    assert getattr(FOUND[name], "is_action", False) != (name in NOT_ACTIONS)


def test_the_list_holds_no_stale_entry() -> None:
    assert set(NOT_ACTIONS) <= set(FOUND)


@pytest.mark.parametrize("name", sorted(n for n, f in FOUND.items() if getattr(f, "is_action", 0)))
def test_an_action_says_what_it_does(name: str) -> None:
    assert inspect.getdoc(FOUND[name])
    assert inspect.signature(FOUND[name]).return_annotation is not inspect.Signature.empty
