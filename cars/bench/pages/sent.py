"""What was typed on the bench, as a plain form or the page's script sends it."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import QueryDict
from django.utils import timezone

from cars.bench.presenters.bench_view import BenchView
from cars.catalogue.keys import Key
from cars.sheets.actions.conflicts import NONE
from cars.sheets.actions.save_boxes import LONGEST_WAIT, MOST, BoxInput
from cars.sheets.pages.boxes import SEEN, id_of, read_seen, seen_json, typed_text
from clubsetup.site.readable_text import read_json


def seen_in(bench: BenchView) -> str:
    """What stands in the boxes now, for `sent_form` to compare with."""
    return seen_json(
        (take.name, take.reading.pk, take.stood if take.conflict or take.wrong else take.text)
        for take in bench.takes.values()
        if take.reading
    )


def sent_form(post: QueryDict, bench: BenchView) -> list[BoxInput]:
    """The boxes of a plain form in which somebody wrote since the page was made."""
    stood = read_seen(post.get(SEEN, ""))
    again, theirs = post.get("again", ""), post.get("theirs", "")
    boxes = []
    for key in bench.takes:
        name = str(key)
        seen, before = stood.get(name, (None, ""))
        text = typed_text(post.get(name, ""))
        if name != theirs and (text != before or name == again):
            boxes.append(BoxInput(key, text, seen, again=name == again))
    return boxes


def sent_by_script(body: bytes) -> list[BoxInput]:
    """The boxes that the page's script sends. Raises ValueError for anything else."""
    data = read_json(body, texts=False)
    if not isinstance(data, dict) or not isinstance(data.get("readings"), list):
        raise ValueError("not the bench's own")
    if len(data["readings"]) > MOST:
        raise ValueError("more than a sheet has boxes")
    return [_sent(row) for row in data["readings"]]


def sent_box(body: bytes) -> BoxInput:
    """The one box that the page's script names. Raises ValueError for anything else."""
    data = read_json(body, texts=False)
    if not isinstance(data, dict):
        raise ValueError("not the bench's own")
    return BoxInput(Key.of(str(data.get("box", ""))), "", id_of(str(data.get("seen", NONE))))


def _sent(row: Any) -> BoxInput:
    if not isinstance(row, dict):
        raise ValueError("a reading is an object")
    age = float(row.get("age", 0))  # seconds: the phone's clock may be wrong, its pace is not
    waited = min(max(timedelta(0), timedelta(seconds=age)), LONGEST_WAIT)
    return BoxInput(
        key=Key.of(str(row.get("box", ""))),
        text=typed_text(str(row.get("text", ""))),
        seen=id_of(str(row.get("seen", NONE))),
        reading_id=UUID(str(row.get("id", ""))),
        taken_at=timezone.now() - waited,
        again=bool(row.get("again")),
    )
