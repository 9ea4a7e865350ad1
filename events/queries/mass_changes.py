"""Whether what is on record of a car has changed its mass since it was weighed."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from uuid import UUID

from events.models import BallastCheck, WeighIn
from events.queries.ballast import piece_key, precedes

CAME_OFF = "a piece of ballast came off"
PUT_ON = "a piece of ballast was put on"
ANOTHER = "a piece of ballast was found to weigh or be marked otherwise"
LISTED = "the team changed its list of the ballast on the car"


def changed_since(
    weigh_in: WeighIn,
    checks: Sequence[BallastCheck],
    listed: Collection[str],
    weigh_ins: Sequence[WeighIn] = (),
) -> str:
    """What changed the car's mass after a weighing, in words; empty: nothing on record did.

    `checks` in force, oldest first; `listed`: ids of the pieces that the team has on the car now;
    `weigh_ins`: those that are not void. A weighing after the race stands as it was, and so does
    one before the race for all that changed once the car had been weighed after it.
    """
    if weigh_in.stage == WeighIn.Stage.AFTER:
        return ""
    raced = next((w for w in _after_race(weigh_ins) if precedes(weigh_in, w)), None)
    if raced is not None:
        checks = [check for check in checks if not precedes(raced, check)]
        listed = listed if raced.listed is None else raced.listed
    return changed_in(weigh_in, checks, listed)


def changed_in(weigh_in: WeighIn, checks: Sequence[BallastCheck], listed: Collection[str]) -> str:
    """As `changed_since`, for a weighing at any stage and everything that came after it."""
    since = _Since(weigh_in)
    for check in checks:
        if precedes(check, weigh_in):
            since.known[piece_key(check)] = check
    for check in checks:
        if not precedes(check, weigh_in) and (what := since.what_changed(check)):
            return what
    return LISTED if since.is_listed_otherwise(listed) else ""


def _after_race(weigh_ins: Sequence[WeighIn]) -> list[WeighIn]:
    after = [w for w in weigh_ins if w.stage == WeighIn.Stage.AFTER]
    return sorted(after, key=lambda w: w.created_at)


@dataclass
class _Since:
    """What was known of each piece when the car was weighed, and is learned afterwards.

    `known`: the newest record of each; that there was no ballast is known under its own id.
    """

    weigh_in: WeighIn
    known: dict[UUID, BallastCheck] = field(default_factory=dict)
    later: dict[UUID, BallastCheck] = field(default_factory=dict)

    def what_changed(self, check: BallastCheck) -> str:
        """What a record made after the weighing says has changed; empty: nothing."""
        if check.none_on_car:
            what = CAME_OFF if any(map(_is_look, self._newest().values())) else ""
        elif check.not_on_car:
            what = CAME_OFF if self._was_on(check) else ""
        else:
            what = self._of_a_look(check)
        self.later[piece_key(check)] = check
        return what

    def is_listed_otherwise(self, listed: Collection[str]) -> bool:
        """Whether the team's list changed by a piece that no official has spoken of since."""
        if self.weigh_in.listed is None:
            return False
        then, now = set(self.weigh_in.listed), set(listed)
        spoken_of = {str(key) for key in self.later}
        on_before = {str(key) for key, check in self.known.items() if _is_look(check)}
        return bool((then - now) - spoken_of or (now - then) - spoken_of - on_before)

    def _newest(self) -> dict[UUID, BallastCheck]:
        return {**self.known, **self.later}

    def _was_on(self, check: BallastCheck) -> bool:
        """Whether a piece said to be off may have been on the car at the weighing or since."""
        before = self._newest().get(piece_key(check))
        if before is not None:
            return _is_look(before)
        return self.weigh_in.listed is None or str(piece_key(check)) in self.weigh_in.listed

    def _of_a_look(self, check: BallastCheck) -> str:
        before = self._newest().get(piece_key(check))
        if before is not None and _is_look(before):
            return ANOTHER if _masses_differ(before, check) else ""
        if check.when_weighed:
            return PUT_ON if check.when_weighed == BallastCheck.WhenWeighed.OFF else ""
        return PUT_ON if before is not None or self._is_new(check) else ""

    def _is_new(self, check: BallastCheck) -> bool:
        """Whether a piece seen for the first time was not on the car, by all that is on record."""
        if any(one.none_on_car for one in self.later.values()):
            return True
        listed = self.weigh_in.listed
        if check.piece_id is not None:
            return listed is not None and str(check.piece_id) not in listed
        return bool(self.known or listed)


def _is_look(check: BallastCheck) -> bool:
    return not (check.none_on_car or check.not_on_car)


def _masses_differ(before: BallastCheck, now: BallastCheck) -> bool:
    """Whether one piece cannot be what both looks saw: another weight on the scales, or, where it
    was not weighed both times, another marked on it."""
    if before.weighed_mass is not None and now.weighed_mass is not None:
        steps = before.weighed_resolution + now.weighed_resolution
        return bool(abs(before.weighed_mass - now.weighed_mass) > steps)
    if before.marked_mass is None or now.marked_mass is None:
        return False
    return bool(before.marked_mass != now.marked_mass)
