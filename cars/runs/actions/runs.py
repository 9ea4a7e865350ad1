"""Runs: noted, corrected, struck; how they felt and what laps they were."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import UUID

from django.utils import timezone

from cars.mechanics.laps import LONGEST_LAP, MOST_LAPS
from cars.models import Car, Feel, Import, Laps, Run, RunDetails, Weather
from cars.permissions import check_can_note_run, check_can_open_sheet
from cars.runs.actions.at_track import time_at_track
from cars.runs.queries.car_now import CarNow, car_at, car_now
from cars.runs.queries.ownerships import had_only_since
from cars.sheets.actions.conflicts import Unseen
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from clubsetup.quantities.reading import Typed
from teams.models import Driver, Surface, Team, Track

STOOD_OTHERWISE = (
    "At that time the car stood otherwise than in this run: on another sheet, or with other "
    "changes. Strike this run, and note it anew with the right time."
)
MOST_FINISH = 99
LONGEST_REASON = 200


@dataclass(frozen=True, slots=True)
class RunFacts:
    """Where, who and how; what is left out is not known."""

    kind: str = RunDetails.Kind.PRACTICE
    driver: Driver | None = None
    track: Track | None = None
    surface: str = ""
    surface_state: str = ""
    weather: Weather | None = None
    finish: int | None = None
    fuel: Typed | None = None
    damage: str = ""
    damage_spots: Sequence[str] = field(default_factory=tuple)
    note: str = ""


class FeelSaid(NamedTuple):
    """Each empty where it was not said."""

    entry: str = ""
    middle: str = ""
    exit: str = ""
    hands: str = ""
    steering: str = ""


class TimedLaps(NamedTuple):
    """Seconds, each with its mark; empty where the lap counts."""

    times: Sequence[Decimal]
    marks: Sequence[str]
    timed_by: str
    typed: str = ""


class NotedMeanwhile(WrongState):
    """Somebody else noted this of the run since the writer looked; `standing` is what stands."""

    def __init__(self, standing: Any) -> None:
        who = standing.by if standing else "Somebody"
        super().__init__(f"{who} noted this run since you looked. Look at it, then save again.")
        self.more = {"standing": str(standing.pk) if standing else None}


@action
def note_run(
    *,
    by: User,
    car: Car,
    facts: RunFacts,
    said: FeelSaid | None = None,
    seen: FeelSaid | None = None,
    laps: TimedLaps | None = None,
    ran_at: datetime | None = None,
    run_id: UUID | None = None,
    stood: CarNow | None = None,
    from_import: Import | None = None,
) -> Run:
    """The car went out: what the driver `said`, what the handler has `seen`, and its laps.

    The state of the car is kept with it, as it stood when it went out; of an imported run whoever
    brings it in says how it `stood`.
    """
    check_can_open_sheet(by, car)
    then = stood
    if not from_import:
        then = car_now(car, by) if ran_at is None else car_at(car, car.team, by, ran_at)
    ran_at = time_at_track("ran_at", ran_at)
    if not from_import:
        _refuse_before_owned(car, car.team, ran_at)
    facts = _with_held_weather(facts)
    run = Run.objects.create(
        pk=run_id or new_id(),
        car=car,
        team_id=car.team_id,
        ran_at=ran_at,
        sheet=then.sheet if then else None,
        car_state=then.state if then else {},
        by=by,
        from_import=from_import,
    )
    _write_details(by, run, facts)
    if said and any(said):
        _write_feel(by, run, Feel.SaidBy.DRIVER, said)
    if seen and any(seen):
        _write_feel(by, run, Feel.SaidBy.HANDLER, seen)
    if laps:
        _write_laps(by, run, laps)
    record(by=by, did="noted", on=run, team_id=run.team_id)
    return run


@action
def correct_run(
    *,
    by: User,
    run: Run,
    facts: RunFacts,
    expected: UUID | Unseen | None,
    ran_at: datetime | None = None,
) -> RunDetails:
    """Other facts of a run; those that stood before stay.

    `expected`: the details that the writer saw, or that they write over anything. Raises
    NotedMeanwhile where others stand by now, and Invalid for a time at which the car stood
    otherwise: what a run keeps of the car never changes.
    """
    check_can_note_run(by, run)
    facts = _with_held_weather(facts)
    run = held_run(run)
    standing = RunDetails.objects.current().get(run=run)
    _refuse_unseen(standing, expected)
    was = run.ran_at
    if ran_at is not None and ran_at != was:
        ran_at = time_at_track("ran_at", ran_at)
        _refuse_before_owned(run.car, run.team, ran_at)
        _refuse_another_car(by, run, ran_at)
        run.ran_at = ran_at
        run.save(update_fields=["ran_at"])
    _replace(by, standing)
    details = _write_details(by, run, facts)
    moved: dict[str, Any] = {"ran_at_was": was.isoformat()} if run.ran_at != was else {}
    record(by=by, did="corrected", on=run, team_id=run.team_id, was=str(standing.pk), **moved)
    return details


@action
def note_feel(
    *,
    by: User,
    run: Run,
    said_by: str,
    feel: FeelSaid,
    expected: UUID | Unseen | None,
    handed_over: bool = False,
) -> Feel | None:
    """How a run felt to the driver, or what the handler saw; nothing said takes it back.

    `handed_over`: the driver said it, on the phone of `by`; the trail says so.
    """
    check_can_note_run(by, run)
    run = held_run(run)
    standing = Feel.objects.current().filter(run=run, said_by=said_by).first()
    _refuse_unseen(standing, expected)
    if standing is not None:
        if FeelSaid(*(getattr(standing, name) for name in FeelSaid._fields)) == feel:
            return standing
        _replace(by, standing)
    row = _write_feel(by, run, said_by, feel) if any(feel) else None
    more: dict[str, Any] = {"handed_over": True} if handed_over else {}
    record(by=by, did="felt", on=run, team_id=run.team_id, said_by=said_by, **more)
    return row


@action
def note_laps(
    *, by: User, run: Run, laps: TimedLaps | None, expected: UUID | Unseen | None
) -> Laps | None:
    """The laps of a run in place of those that stood, which stay; None takes them away.

    Raises NotedMeanwhile where others stand than the writer saw.
    """
    check_can_note_run(by, run)
    run = held_run(run)
    standing = Laps.objects.current().filter(run=run).first()
    _refuse_unseen(standing, expected)
    if standing is not None:
        _replace(by, standing)
    row = _write_laps(by, run, laps) if laps else None
    record(by=by, did="timed", on=run, team_id=run.team_id, laps=len(laps.times) if laps else 0)
    return row


@action
def strike_run(*, by: User, run: Run, reason: str) -> Run:
    """A run that was none, or was noted twice. It stays to be read, and counts for nothing."""
    check_can_note_run(by, run)
    run = held_run(run)
    if not 0 < len(reason.strip()) <= LONGEST_REASON:
        raise Invalid("reason", "Say in a few words why it is struck.")
    run.struck_at, run.struck_by, run.struck_reason = timezone.now(), by, reason.strip()
    run.save(update_fields=["struck_at", "struck_by", "struck_reason"])
    record(by=by, did="struck", on=run, team_id=run.team_id, reason=run.struck_reason)
    return run


def held_run(run: Run) -> Run:
    """The run, held. Raises WrongState for one that is struck.

    Whoever holds a weather too holds that before any run: see `_with_held_weather`.
    """
    run = Run.objects.select_for_update(of=("self",)).select_related("car", "team").get(pk=run.pk)
    if run.struck_at is not None:
        raise WrongState("This run is struck: it stays as it is.")
    return run


def _with_held_weather(facts: RunFacts) -> RunFacts:
    """The facts with their weather as it stands now; nobody corrects it until they are written.

    Weather is held before runs, and runs in the order of their ids: so does `correct_weather`, and
    of two who write at once neither has what the other waits for.
    """
    if facts.weather is None:
        return facts
    rows = Weather.objects.select_for_update(of=("self",), no_key=True)
    held = rows.filter(pk=facts.weather.pk).first()
    return replace(facts, weather=held or facts.weather)


def _refuse_before_owned(car: Car, team: Team, ran_at: datetime) -> None:
    since = had_only_since(car, team, timezone.localdate(ran_at, team.club.zone()))
    if since is not None:
        raise Invalid(
            "ran_at",
            f"{team} has had this car since {day(since)}: write a time from that day on. What it "
            "ran before is the record of the team that had it.",
        )


def _refuse_unseen(standing: Any, expected: UUID | Unseen | None) -> None:
    if isinstance(expected, Unseen) or expected == (standing.pk if standing else None):
        return
    raise NotedMeanwhile(standing)


def _refuse_another_car(by: User, run: Run, ran_at: datetime) -> None:
    was, then = (_kept_of(car_at(run.car, run.team, by, at)) for at in (run.ran_at, ran_at))
    if was != then:
        raise Invalid("ran_at", STOOD_OTHERWISE)


def _kept_of(car: CarNow | None) -> tuple[UUID, dict[str, Any]] | None:
    return (car.sheet.pk, car.state) if car else None


def _replace(by: User, row: Any) -> None:
    row.replaced_at, row.replaced_by = timezone.now(), by
    row.save(update_fields=["replaced_at", "replaced_by"])


def _write_details(by: User, run: Run, facts: RunFacts) -> RunDetails:
    _check_facts(run, facts)
    surface = facts.surface or (facts.track.surface if facts.track else "")
    surface = surface or (run.sheet.surface if run.sheet else "")
    if surface not in Surface.values:
        raise Invalid("surface", "Choose paved or dirt.")
    return RunDetails.objects.create(
        run=run,
        team_id=run.team_id,
        kind=facts.kind,
        driver=facts.driver,
        track=facts.track,
        weather=facts.weather,
        surface=surface,
        surface_state=facts.surface_state,
        finish=facts.finish,
        fuel=facts.fuel.value if facts.fuel else None,
        fuel_typed=facts.fuel.text if facts.fuel else "",
        damage=facts.damage.strip(),
        damage_spots=list(facts.damage_spots),
        note=facts.note.strip(),
        by=by,
    )


def _check_facts(run: Run, facts: RunFacts) -> None:
    if facts.kind not in RunDetails.Kind.values:
        raise Invalid("kind", "Choose practice, heat or main.")
    if facts.surface_state and facts.surface_state not in RunDetails.SurfaceState.values:
        raise Invalid("surface_state", "Choose how the surface was.")
    if facts.driver is not None and facts.driver.team_id != run.team_id:
        raise Invalid("driver", "Choose a driver of the team that has the car.")
    if facts.track is not None and facts.track.club_id != run.car.chassis.club_id:
        raise Invalid("track", "Choose a track of the car's club.")
    if facts.weather is not None and facts.weather.team_id != run.team_id:
        raise Invalid("weather", "Choose a weather that the team noted.")
    if facts.weather is not None and facts.weather.replaced_at is not None:
        raise Invalid("weather", "This weather was corrected since. Choose what stands now.")
    if facts.finish is not None:
        if facts.kind == RunDetails.Kind.PRACTICE:
            raise Invalid("finish", "Nobody finishes a practice. Choose heat or main.")
        if not 1 <= facts.finish <= MOST_FINISH:
            raise Invalid("finish", f"A finish is from 1 to {MOST_FINISH}.")
    unknown = set(facts.damage_spots) - {"LF", "RF", "LR", "RR", "front", "rear", "left", "right"}
    if unknown:
        raise Invalid("damage_spots", "Say where on the car it was hit.")
    if facts.damage_spots and not facts.damage.strip():
        raise Invalid("damage", "Say what happened there, as in 'hit the wall'.")
    if len(facts.damage.strip()) > LONGEST_REASON:
        raise Invalid("damage", f"Say it in at most {LONGEST_REASON} characters.")


def _write_feel(by: User, run: Run, said_by: str, feel: FeelSaid) -> Feel:
    if said_by not in Feel.SaidBy.values:
        raise Invalid("said_by", "Choose who says so: the driver or the handler.")
    allowed = {
        **dict.fromkeys(("entry", "middle", "exit"), Feel.Balance.values),
        "hands": Feel.Hands.values,
        "steering": Feel.Steering.values,
    }
    for name, value in feel._asdict().items():
        if value and value not in allowed[name]:
            raise Invalid(name, "Choose one of the pictures, or none.")
    return Feel.objects.create(
        run=run, team_id=run.team_id, said_by=said_by, by=by, **feel._asdict()
    )


def _write_laps(by: User, run: Run, laps: TimedLaps) -> Laps:
    if not 1 <= len(laps.times) <= MOST_LAPS:
        raise Invalid("laps", f"A run has 1 to {MOST_LAPS} laps.")
    if len(laps.marks) != len(laps.times):
        raise Invalid("laps", "Each lap has its mark, or none.")
    if any(mark and mark not in Laps.Mark.values for mark in laps.marks):
        raise Invalid("laps", "A lap counts, or says why it does not.")
    if any(not 0 < time < LONGEST_LAP for time in laps.times):
        raise Invalid("laps", "A lap takes more than nothing and less than ten minutes.")
    if laps.timed_by not in Laps.TimedBy.values:
        raise Invalid("timed_by", "Say who timed the laps: the track, or a hand.")
    return Laps.objects.create(
        run=run,
        team_id=run.team_id,
        times=list(laps.times),
        marks=list(laps.marks),
        timed_by=laps.timed_by,
        typed=laps.typed,
        by=by,
    )
