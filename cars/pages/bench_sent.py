"""What was typed on the bench, from a plain form or from the page's script, taken box by box.

Each box comes with the id of the reading that the person saw there, so that what two people write
in the same box at once is put to them and not lost.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.http import QueryDict
from django.utils import timezone

from cars.actions.seen import take_seen_reading
from cars.entries import Key, read_entry
from cars.meanwhile import WrittenMeanwhile
from cars.models import Measure, Reading, Sheet
from cars.queries.bench_view import NONE, BenchView
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.units import Units

SEEN = "seen"  # the field that carries what stood in each box when the page was made
MOST = 300
LONGEST_WAIT = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Sent:
    """One box as it was sent."""

    key: Key
    text: str
    seen: UUID | None
    reading_id: UUID | None = None
    taken_at: datetime | None = None
    again: bool = False  # read again, and it may say the same


@dataclass(slots=True)
class Kept:
    """What came of one box: the reading that stands, or why it could not be kept."""

    sent: Sent
    standing: Reading | None = None
    wrong: str = ""
    conflict: WrittenMeanwhile | None = None
    refused: str = ""

    @property
    def status(self) -> str:
        """In a word, for the page's script."""
        return (
            ("wrong" if self.wrong else "")
            or ("conflict" if self.conflict else "")
            or ("refused" if self.refused else "saved")
        )


def keep(by: User, sheet: Sheet, sent: Iterable[Sent], known: Mapping[str, Measure]) -> list[Kept]:
    """Takes each box by itself: what is wrong with one does not hold up the others."""
    units = by.units(sheet.team.club.units())
    return [_keep(by, sheet, one, known, units) for one in sent]


def _keep(by: User, sheet: Sheet, sent: Sent, known: Mapping[str, Measure], units: Units) -> Kept:
    kept = Kept(sent)
    try:
        measure = known[sent.key.measure]
        entry = read_entry(measure, sent.key, sent.text, units, sent.reading_id)
        entry = replace(entry, taken_at=sent.taken_at)
        kept.standing = take_seen_reading(
            by=by, sheet=sheet, entry=entry, seen=sent.seen, again=sent.again
        )
    except KeyError:
        kept.refused = "There is no such measure any more."
    except QuantityError as refusal:
        kept.wrong = refusal.message
    except WrittenMeanwhile as conflict:
        kept.conflict = conflict
    except WrongState as refusal:
        kept.refused = str(refusal)
    return kept


def said(conflict: WrittenMeanwhile, viewer: User, text: str) -> str:
    """'Jonah wrote 2 3/8 a moment ago; you typed 2 1/4.'"""
    mine = f"you typed {text}" if text else "you emptied it"
    if conflict.by is None:
        who = "Somebody"
    else:
        who = "You yourself, on another page," if conflict.by == viewer else str(conflict.by)
    if conflict.standing is None:
        return f"{who} emptied this box meanwhile; {mine}."
    when = _ago(timezone.now() - conflict.standing.created_at)
    return f"{who} wrote {conflict.standing.typed} {when}; {mine}."


def _ago(gone: timedelta) -> str:
    minutes = int(gone.total_seconds() // 60)
    if minutes < 2:
        return "a moment ago"
    return f"{minutes} minutes ago" if minutes < 60 else "earlier"


def seen_in(bench: BenchView) -> str:
    """What stands in the boxes now, for `sent_form` to compare with."""
    stood = (
        (take, take.stood if take.conflict or take.wrong else take.text)
        for take in bench.takes.values()
    )
    return json.dumps({take.name: [take.seen, text] for take, text in stood if take.reading})


def sent_form(post: QueryDict, bench: BenchView) -> list[Sent]:
    """The boxes of a plain form in which somebody wrote since the page was made."""
    stood = _stood(post.get(SEEN, ""))
    again, theirs = post.get("again", ""), post.get("theirs", "")
    found = []
    for key in bench.takes:
        name = str(key)
        seen, before = stood.get(name, (None, ""))
        text = _clean(post.get(name, ""))
        if name != theirs and (text != before or name == again):
            found.append(Sent(key, text, seen, again=name == again))
    return found


def _clean(text: str) -> str:
    return text.replace("\x00", "").strip()


def _stood(text: str) -> dict[str, tuple[UUID | None, str]]:
    try:
        found = json.loads(text or "{}")
        return {str(name): (_id(str(seen)), str(before)) for name, (seen, before) in found.items()}
    except (ValueError, AttributeError, TypeError) as error:
        raise Invalid(SEEN, "Reload the page: it is not as we made it.") from error


def sent_by_script(body: bytes) -> list[Sent]:
    """The boxes that the page's script sends. Raises ValueError for anything else."""
    found = json.loads(body)
    if not isinstance(found, dict) or not isinstance(found.get("readings"), list):
        raise ValueError("not the bench's own")
    if len(found["readings"]) > MOST:
        raise ValueError("more than a sheet has boxes")
    return [_sent(row) for row in found["readings"]]


def sent_box(body: bytes) -> Sent:
    """The one box that the page's script names. Raises ValueError for anything else."""
    found = json.loads(body)
    if not isinstance(found, dict):
        raise ValueError("not the bench's own")
    return Sent(Key.of(str(found.get("box", ""))), "", _id(str(found.get("seen", NONE))))


def _sent(row: Any) -> Sent:
    if not isinstance(row, dict):
        raise ValueError("a reading is an object")
    age = float(row.get("age", 0))  # seconds: the phone's clock may be wrong, its pace is not
    waited = min(max(timedelta(0), timedelta(seconds=age)), LONGEST_WAIT)
    return Sent(
        key=Key.of(str(row.get("box", ""))),
        text=_clean(str(row.get("text", ""))),
        seen=_id(str(row.get("seen", NONE))),
        reading_id=UUID(str(row.get("id", ""))),
        taken_at=timezone.now() - waited,
        again=bool(row.get("again")),
    )


def _id(text: str) -> UUID | None:
    return None if text == NONE else UUID(text)
