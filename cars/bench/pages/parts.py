"""The changing parts of a bench page, for the whole page and for its script."""

from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import Any

from django.template.loader import render_to_string

from cars.bench.presenters.bench_view import BenchView, Take
from cars.sheets.actions.save_boxes import BoxResult, conflict_message
from clubsetup.access.models import User
from clubsetup.site.macros import macro

verdict, acts, more_acts = (
    macro("cars/bench_boxes.jinja", name) for name in ("verdict", "acts", "more_acts")
)


def show_results(bench: BenchView, results: Iterable[BoxResult], viewer: User) -> None:
    """Puts what could not be kept back in its box, with what to do about it."""
    outcomes = {one.sent.key: one for one in results if one.status != "saved"}
    for each in bench.boxes:
        each.takes = [
            _shown(take, outcomes[take.key], viewer) if take.key in outcomes else take
            for take in each.takes
        ]
        for take in each.takes:
            if (why := take.wrong or take.conflict) and not each.box.wrong:
                each.box.refuse(why)
    bench.__dict__.pop("takes", None)  # cached from the boxes before


def _shown(take: Take, result: BoxResult, viewer: User) -> Take:
    conflict = (
        conflict_message(result.conflict, viewer, result.sent.text) if result.conflict else ""
    )
    return replace(
        take,
        text=result.sent.text,
        stood=take.text,
        wrong=result.wrong or result.refused,
        conflict=conflict,
    )


def now_json(
    bench: BenchView, *, editable: bool, touched: Collection[str] | None = None
) -> dict[str, Any]:
    """What stands on the bench now: each field's reading, and the parts of the page that follow.

    `touched`: only the measures just written in this step may say something new, and what is
    computed from them; the other steps' tallies are not known.
    """
    tally = "cars/bench/_tally.html"
    parts = {
        f"s-{step.step.pk}": render_to_string(tally, {"each": step})
        for step in bench.view.steps
        if touched is None or step is bench.here
    }
    here = {"each": bench.here}
    parts[f"h-{bench.here.step.pk}"] = render_to_string("cars/bench/_tally_here.html", here)
    for row in bench.rows:
        if touched is not None and row.row.measure.pk not in touched and not row.row.is_derived:
            continue
        for each in row.boxes:
            parts[f"v-{each.box.html_id}"] = verdict(each, row.row)
            if not row.row.is_derived:
                parts[f"x-{each.box.html_id}"] = acts(each, row.row, editable)
                parts[f"p-{each.box.html_id}"] = more_acts(each, row.row, editable)
    return {
        "step": bench.here.step.pk,
        "version": bench.version,
        "state": bench.sheet.state,
        "boxes": [_box(take) for each in bench.boxes for take in each.takes],
        "parts": parts,
    }


def _box(take: Take) -> dict[str, Any]:
    return {"name": take.name, "seen": take.seen, "text": take.text, "by": take.by}


def result_json(result: BoxResult, viewer: User) -> dict[str, Any]:
    """What came of one box that was sent."""
    answer = {
        "id": str(result.sent.reading_id),
        "box": str(result.sent.key),
        "status": result.status,
        "seen": str(result.standing.pk) if result.standing else "none",
        "says": result.wrong or result.refused,
        "stands": result.standing.typed if result.standing else "",
    }
    if conflict := result.conflict:
        theirs = conflict.standing
        answer |= {
            "says": conflict_message(conflict, viewer, result.sent.text),
            "seen": str(theirs.pk) if theirs else "none",
            "theirs": theirs.typed if theirs else "",
            "stands": theirs.typed if theirs else "",
        }
    return answer
