"""What is on record of a car's ballast: which looks count, what is off the car, what is unseen."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from cars.models import BallastPiece
from events.models import BallastCheck, Entry, Event, Finding, WeighIn
from events.models.official import OfficialRecord


@dataclass(frozen=True)
class EntryBallast:
    """The records that are in force, put together.

    `looks`: those that the rules judge; `on_car`: of these the ones of pieces that may be on the
    car still; `off`: the records that say of a piece that it is not on the car; `unseen`: ids of
    pieces that the team lists as on the car and no record speaks of; `none_declared`: an official
    found no ballast on the car.
    """

    looks: tuple[BallastCheck, ...] = ()
    on_car: tuple[BallastCheck, ...] = ()
    off: tuple[BallastCheck, ...] = ()
    unseen: tuple[str, ...] = ()
    none_declared: bool = False

    @property
    def is_looked_at(self) -> bool:
        """Whether somebody has looked at a piece that counts, or found that there is none."""
        return bool(self.looks) or self.none_declared

    @property
    def off_after_race(self) -> list[BallastCheck]:
        """Of `off`, those whose piece the car had raced with: the look at it still counts."""
        raced = {piece_key(look) for look in self.looks}
        return [check for check in self.off if piece_key(check) in raced]

    @property
    def is_empty(self) -> bool:
        """Whether no piece stands as on the car: only then may it be said that there is none."""
        return not self.on_car and not self.unseen


def piece_key(check: BallastCheck) -> UUID:
    """Which piece a record speaks of: the team's, or the one first seen at a look."""
    return check.piece_id or check.look_id or check.pk


def in_force(checks: Iterable[BallastCheck]) -> list[BallastCheck]:
    """The checks (each with its void) that are not void, oldest first."""
    standing = (check for check in checks if not hasattr(check, "void"))
    return sorted(standing, key=lambda c: (c.created_at, c.pk))


def ballast_of(
    checks: Iterable[BallastCheck],
    listed: Collection[str],
    weigh_ins: Sequence[WeighIn] = (),
) -> EntryBallast:
    """What the checks (each with its void) come to; `listed`: ids of what the team has on the car,
    `weigh_ins`: those that are not void.

    A later record of the same piece takes the earlier one's place. Pieces that the team does not
    keep here cannot be told apart: each look counts until it is said that its piece is not on the
    car. That there is no ballast takes no look away. What came off after the race had been on the
    car when it raced: the look at it goes on counting.
    """
    looks, off = dict[UUID, BallastCheck](), dict[UUID, BallastCheck]()
    none_declared = False
    for check in in_force(checks):
        key = piece_key(check)
        if check.none_on_car:
            none_declared = True
        elif check.not_on_car:
            off[key] = check
            if not is_after_race(check, weigh_ins):
                looks.pop(key, None)
        else:
            off.pop(key, None)
            looks.pop(key, None)
            looks[key] = check
    recorded = {str(key) for key in (*looks, *off)}
    return EntryBallast(
        looks=tuple(looks.values()),
        on_car=tuple(look for key, look in looks.items() if key not in off),
        off=tuple(off.values()),
        unseen=tuple(one for one in listed if one not in recorded),
        none_declared=none_declared,
    )


def is_after_race(record: OfficialRecord, weigh_ins: Sequence[WeighIn]) -> bool:
    """Whether the newest weighing before a record was one after the race."""
    before = [w for w in weigh_ins if precedes(w, record)]
    newest = max(before, key=lambda w: w.created_at, default=None)
    return newest is not None and newest.stage == WeighIn.Stage.AFTER


def precedes(one: OfficialRecord, other: OfficialRecord) -> bool:
    """Whether a record is earlier than another by the server's clock and the devices' alike.

    Where they differ nobody knows, and neither precedes the other.
    """
    return one.created_at < other.created_at and _made_at(one) <= _made_at(other)


def _made_at(record: OfficialRecord) -> datetime:
    return record.device_at or record.created_at


def pieces_on(entry: Entry) -> QuerySet[BallastPiece]:
    """The pieces that the team keeps on this car, each with its mount.

    None of an entry made by hand that the team has not confirmed: who weighs it does not see them.
    """
    pieces = BallastPiece.objects.in_use().filter(car_id=entry.car_id)
    return pieces.select_related("mount") if entry.is_confirmed else pieces.none()


def listed_on(entry: Entry) -> list[str]:
    """Ids of the pieces that the team says are on the car.

    Officials see them while the entry stands at an event that is not over; afterwards what the
    newest findings rest on counts.
    """
    if entry.event.state == Event.State.UNDER_WAY and entry.withdrawn_at is None:
        return [str(piece.pk) for piece in pieces_on(entry)]
    newest = Finding.objects.filter(entry=entry).order_by("-batch").first()
    return list(newest.evidence.get("listed", [])) if newest else []
