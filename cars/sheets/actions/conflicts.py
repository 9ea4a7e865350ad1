"""What somebody else wrote in a box meanwhile, put to the person who did not see it."""

from collections.abc import Iterable, Mapping
from enum import Enum
from uuid import UUID

from cars.catalogue.keys import Key
from cars.figures.box_entries import BoxEntry
from cars.models import Reading, Sheet
from clubsetup.access.errors import WrongState


class Unseen(Enum):
    """What a writer says who saw nothing and writes over anything."""

    OVER_ANYTHING = "anything"


OVER_ANYTHING = Unseen.OVER_ANYTHING
NONE = "none"  # how a page names the reading of an empty box
# The reading that the writer saw in each box, None for an empty one.
SeenReadings = Mapping[Key, UUID | Unseen | None] | Unseen


class EditConflict(WrongState):
    """Another reading stands in the box than the one the person saw.

    `standing` is that reading, None where the box was emptied; `by` is whoever did it.
    """

    def __init__(self, key: Key, standing: Reading | None, last: Reading | None) -> None:
        self.key, self.standing = key, standing
        self.by = standing.by if standing else last.replaced_by if last else None
        wrote = f"wrote {standing.typed}" if standing else "emptied this box"
        super().__init__(f"{self.by or 'Somebody'} {wrote} since you looked.")
        self.more = {
            "box": str(key),
            "seen": str(standing.pk) if standing else None,
            "theirs": standing.typed if standing else "",
            "by": str(self.by) if self.by else None,
        }


def refuse_unseen(
    sheet: Sheet,
    entries: Iterable[BoxEntry],
    standing: Mapping[Key, Reading],
    seen: SeenReadings,
) -> None:
    """Raises EditConflict for the first box where something else stands than was seen.

    Two who read the same do not quarrel: nobody loses anything.
    """
    if isinstance(seen, Unseen):
        return
    for entry in entries:
        now, saw = standing.get(entry.key), seen[entry.key]
        if isinstance(saw, Unseen):
            continue
        if not is_seen(now, saw) and not _agree(now, entry):
            raise EditConflict(entry.key, now, last_replaced(sheet, entry.key))


def is_seen(standing: Reading | None, seen: UUID | None) -> bool:
    """What stands there is what was seen there."""
    return (standing.pk if standing else None) == seen


def _agree(standing: Reading | None, entry: BoxEntry) -> bool:
    if standing is None:
        return not entry.text
    return entry.same_as(standing.typed, standing.unit, standing.value)


def last_replaced(sheet: Sheet, key: Key) -> Reading | None:
    """The reading of a box that was replaced or taken back last."""
    rows = Reading.objects.filter(
        sheet=sheet,
        measure=key.measure,
        spot=key.spot,
        take=key.take,
        replaced_at__isnull=False,
    )
    return rows.select_related("replaced_by").order_by("replaced_at").last()


def standing_in(sheet: Sheet, key: Key) -> Reading | None:
    """The reading that stands in a box."""
    rows = sheet.readings.current().at(key.measure, key.spot, key.take)
    return rows.select_related("by").first()
