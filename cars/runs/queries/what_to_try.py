"""What to try between two runs: suggestions for what is felt, for this car in figures, in order."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from uuid import UUID

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.figures.derived import Figure
from cars.figures.judgement import FigureOutcome, Standard, judge, reach_of
from cars.models import Car, Suggestion, TrackChange
from cars.runs.queries.car_now import CarNow, Expected, car_now
from cars.runs.queries.car_to_change import CarToChange
from cars.runs.queries.change_judges import CarThen, ClassJudge, RuleThen, class_judge
from cars.runs.queries.helped import changed_on, last_change, set_up_of
from cars.runs.queries.predicted_changes import PredictedChange, predict_change
from cars.runs.queries.runs import RunNoted, changes_kept, runs_of, runs_of_day
from cars.runs.queries.suggestions import (
    PLACES,
    Felt,
    feel_of,
    suggestions_for,
    suggestions_on,
    tables_for,
)
from cars.runs.queries.trials import NEVER, Asked, Spot, Tries, tries_of
from cars.runs.queries.try_this import (
    LeftTolerance,
    Pull,
    TryThis,
    change_of,
    in_order,
    once_each,
    pull_of,
)
from clubsetup.access.models import User

NO_SHEET = PredictedChange(missing="No sheet says how this car was set.")
FEEL = (*PLACES, "hands", "steering")


@dataclass(frozen=True, slots=True)
class GoBack:
    """The last change was shown slower: what is to be put back, and what to be made again."""

    put_back: tuple[TrackChange, ...]
    make_again: tuple[Mapping[str, str], ...]


@dataclass(eq=False)
class WhatToTry:
    """The answer for one car; `run` is the newest, whose feel it is unless another was chosen."""

    car: Car
    felt: Felt
    run: RunNoted | None
    now: CarNow | None
    judge: ClassJudge | None = None
    figures: Mapping[Key, Figure] = field(default_factory=dict)
    tried: Sequence[TryThis] = ()
    pull: Pull | None = None
    go_back: GoBack | None = None

    @property
    def is_felt(self) -> bool:
        """Something is felt that a suggestion can be for."""
        return any(getattr(self.felt, name) for name in FEEL)

    @cached_property
    def failing_now(self) -> list[RuleThen]:
        """Class rules that the car fails as it stands."""
        return self.judge.failing_now() if self.judge else []


def what_to_try(car: Car, viewer: User, chosen: Felt | None = None) -> WhatToTry:
    """For what was felt in the newest run, or for another feel that was `chosen`."""
    newest = runs_of(car).values_list("ran_at", flat=True).first()
    day = [] if newest is None else runs_of_day(car, timezone.localdate(newest))
    run = day[0] if day else None
    now = car_now(car, viewer)
    felt = _felt(chosen, run, now)
    answer = WhatToTry(car, felt, run, now)
    rows = suggestions_for(car, felt, viewer) if answer.is_felt else []
    return _answered(answer, once_each(rows), day, viewer)


def card_for(car: Car, viewer: User) -> WhatToTry:
    """Every suggestion of the tables for the surface that the car ran or was set on last, whatever
    is felt: what a card takes to the track. In the order of what they are for, then by rank.
    """
    newest = runs_of(car).values_list("ran_at", flat=True).first()
    day = [] if newest is None else runs_of_day(car, timezone.localdate(newest))
    now = car_now(car, viewer)
    run = day[0] if day else None
    surface = run.details.surface if run else now.sheet.surface if now else ""
    answer = WhatToTry(car, Felt(surface=surface), run, now)
    rows = suggestions_on(car, surface, viewer)
    answer = _answered(answer, [(row,) for row in rows], [], viewer)
    # The sort is stable: those of one feel stay in the order of their ranks.
    answer.tried = sorted(answer.tried, key=lambda one: _feel_order(one.row))
    return answer


def _feel_order(row: Suggestion) -> tuple[bool, int, str, str, str, str]:
    """Balances first, along the corner; then hands, steering and the track."""
    place = PLACES.index(row.place) + 1 if row.place else 0
    named = row.balance, row.hands, row.steering, row.surface_state
    return (not row.balance, place, *named)


def _felt(chosen: Felt | None, run: RunNoted | None, now: CarNow | None) -> Felt:
    """What was felt, on the surface of the newest run; without one, on that of the sheet."""
    of_run = feel_of(run) if run else Felt(surface=now.sheet.surface if now else "")
    if chosen is None:
        return of_run
    return replace(
        chosen,
        surface=chosen.surface or of_run.surface,
        surface_state=chosen.surface_state or of_run.surface_state,
    )


def _answered(
    answer: WhatToTry,
    said: Sequence[tuple[Suggestion, ...]],
    day: Sequence[RunNoted],
    viewer: User,
) -> WhatToTry:
    now = answer.now
    last = last_change(day) if now is not None and _stands_as(now, day) else None
    tries, slower = _tries(answer, said, last)
    for_car = _OnCar(now, _corner(answer, now), viewer) if now is not None else None
    found = [
        for_car.tried(same, these) if for_car else TryThis(same, NO_SHEET, tries=these)
        for same, these in zip(said, tries, strict=True)
    ]
    answer.pull = pull_of(answer.felt)
    answer.tried = in_order(found, answer.pull, _acts_on(answer.car) if answer.pull else {})
    if for_car is not None:
        answer.figures = for_car.to_change.figures
        answer.judge = for_car.judge
    if slower and now is not None and last is not None:
        answer.go_back = _go_back(now, day, last)
    return answer


def _tries(
    answer: WhatToTry,
    said: Sequence[tuple[Suggestion, ...]],
    last: tuple[list[UUID], list[UUID]] | None,
) -> tuple[list[Tries], bool]:
    """What came of each in the team's own runs; and whether the last change was shown slower."""
    if not answer.felt.surface or not (said or last):
        return [NEVER] * len(said), False
    asked = [Asked(*change_of(same[0]), _asked_feel(same[0])) for same in said]
    tries, verdict = tries_of(answer.car, answer.felt.surface, asked, last)
    return tries, verdict == "slower"


def _asked_feel(row: Suggestion) -> dict[str, str]:
    """The feel that a suggestion is for; a balance without a place is anywhere in the corner."""
    felt = {"hands": row.hands, "steering": row.steering}
    if row.balance:
        felt[row.place or "anywhere"] = row.balance
    return felt


def _stands_as(now: CarNow, day: Sequence[RunNoted]) -> bool:
    """Whether the car stands as it went out last: nothing was changed since."""
    timed = next((each for each in day if each.counted), None)
    if timed is None:
        return False
    standing = (
        {"adjuster": change.adjuster, "spot": change.spot, "amount": str(change.amount)}
        for change in now.standing
    )
    return set_up_of(timed.run) == (now.sheet.pk, changed_on(standing))


def _go_back(
    now: CarNow, day: Sequence[RunNoted], last: tuple[list[UUID], list[UUID]]
) -> GoBack | None:
    """To the set-up of the runs before the last change, on the same sheet; None on another."""
    before = next(each for each in day if each.run.pk == last[0][-1])
    if before.run.sheet_id != now.sheet.pk:
        return None
    then = {kept["id"]: kept for kept in changes_kept(before.run)}
    standing = {str(change.pk): change for change in now.standing}
    return GoBack(
        tuple(change for pk, change in standing.items() if pk not in then),
        tuple(kept for pk, kept in then.items() if pk not in standing),
    )


def _corner(answer: WhatToTry, now: CarNow | None) -> float | None:
    """The radius of the track's corner, mm, where the newest run or the sheet says the track."""
    track = answer.run.details.track if answer.run else None
    if track is None and now is not None:
        track = now.sheet.track
    return float(track.corner_radius) if track and track.corner_radius else None


def _acts_on(car: Car) -> dict[Spot, Collection[str]]:
    """The places that the tables name each adjuster for. Two queries."""
    rows = Suggestion.objects.filter(table__in=tables_for(car.team)).exclude(balance="")
    places: dict[Spot, set[str]] = {}
    for adjuster, spot, place in rows.values_list("adjuster", "spot", "place").distinct():
        places.setdefault((adjuster, spot), set()).add(place)
    return dict(places)


@dataclass(eq=False)
class _OnCar:
    """A car that suggestions are held to: its figures, tolerances and class rules."""

    now: CarNow
    corner: float | None
    viewer: User

    @cached_property
    def to_change(self) -> CarToChange:
        return CarToChange(self.now, self.corner)

    @cached_property
    def judge(self) -> ClassJudge | None:
        units = self.now.table.on_sheet.units
        return class_judge(self.now.sheet, self.to_change.figures, units)

    def tried(self, same: tuple[Suggestion, ...], tries: Tries) -> TryThis:
        """A suggestion with what it would make of this car."""
        predicted = predict_change(self.to_change, same[0])
        off, close = self._tolerances(predicted)
        return TryThis(
            same,
            predicted,
            rules=tuple(self._rules(predicted)),
            off=tuple(off),
            close=tuple(close),
            tries=tries,
        )

    def _rules(self, predicted: PredictedChange) -> list[RuleThen]:
        if self.judge is None:
            return []
        then = {key: Figure(one.value, one.u) for key, one in predicted.moved.items()}
        return self.judge.rules_then(
            CarThen(
                {**self.to_change.figures, **then},
                moved={key.measure for key, one in predicted.moved.items() if one.value != one.was},
                unknown=predicted.again,
                pieces=predicted.pieces,
            )
        )

    def _tolerances(
        self, predicted: PredictedChange
    ) -> tuple[list[LeftTolerance], list[LeftTolerance]]:
        """What would be off its target by more than before, and what may be where it was not."""
        off, close = [], []
        for key, box in predicted.moved.items():
            wanted = self.now.table.standards.get(key)
            if wanted is None or box.value == box.was:
                continue
            judged = judge(box.value, wanted.target, wanted.tolerance, reach_of(box.u))
            left = LeftTolerance(key, judged, wanted.tolerance)
            if abs(judged.miss) <= abs(box.was - wanted.target):
                continue
            if judged.outcome is FigureOutcome.OFF:
                off.append(left)
            elif judged.outcome is FigureOutcome.TOO_CLOSE and self._was_on(key, box, wanted):
                close.append(left)
        return off, close

    def _was_on(self, key: Key, box: Expected, wanted: Standard) -> bool:
        """Whether it is surely on target as it stands; a figure that is due by what it was."""
        figure = self.to_change.figures.get(key, Figure(box.was, box.u))
        judged = judge(figure.value, wanted.target, wanted.tolerance, figure.reach)
        return judged.outcome is FigureOutcome.ON_TARGET
