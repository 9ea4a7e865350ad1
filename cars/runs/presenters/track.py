"""A car at the track, and its runs, as the page shows them."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.formatting import format_box, format_kept_change
from cars.figures.prediction_format import format_predicted, format_spread
from cars.mechanics.air import ISA_DENSITY
from cars.mechanics.calibration import COVERAGE_95
from cars.models import Feel, Laps, TrackChange, Weather
from cars.runs.queries.air import air_of
from cars.runs.queries.car_now import CarNow
from cars.runs.queries.runs import RunNoted, changes_kept
from cars.runs.queries.usual_spread import UsualSpread
from clubsetup.clock.writing import clock
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

NOT_SAID = "not said"
LAPS_A_LINE = 8
FOOT = 0.3048  # m
# Of what a change makes, these are told first.
FIRST = ("cross", "weight", "ride-height", "pressure")


@dataclass(frozen=True, slots=True)
class ExpectedLine:
    """'Cross 51.9% to 52.4% (± 0.3%)'."""

    name: str
    was: str
    now: str
    spread: str


@dataclass(frozen=True, slots=True)
class ChangeShown:
    change: TrackChange
    says: str
    stands: bool


@dataclass(frozen=True, slots=True)
class CarNowShown:
    """What the car stands on, what was changed since and what that makes."""

    now: CarNow
    changes: list[ChangeShown]
    standing: str  # 'spring seat RF +1/2 turn, pressure LR +1 psi'
    expected: list[ExpectedLine]
    read: list[tuple[str, str]]  # what was read again, by its name
    due: list[str]  # names of measures to be taken again, each once

    @property
    def has_changes(self) -> bool:
        """Something stands that can be put back."""
        return bool(self.now.standing)


def show_now(now: CarNow, units: Units) -> CarNowShown:
    """The car as it stands, in the reader's units."""
    stands = {change.pk for change in now.standing}
    known = now.table.on_sheet.known
    return CarNowShown(
        now=now,
        changes=[
            ChangeShown(change, format_track_change(change, units), change.pk in stands)
            for change in now.changes
        ],
        standing=", ".join(format_track_change(change, units) for change in now.standing),
        expected=expected_lines(now, units),
        read=[
            (
                format_box(known.measures[key.measure], key.spot),
                format_predicted(float(figure.value), _kind(known, key), units),
            )
            for key, figure in now.read.items()
        ],
        due=list(dict.fromkeys(known.measures[key.measure].name for key in now.due)),
    )


def format_track_change(change: TrackChange, units: Units) -> str:
    """'spring seat RF +1/2 turn'."""
    return format_kept_change(change.adjuster, change.spot, change.amount, change.unit, units)


def expected_lines(now: CarNow, units: Units) -> list[ExpectedLine]:
    """What the changes are expected to have made, cross first."""
    known = now.table.on_sheet.known
    rows = sorted(
        now.expected.items(),
        key=lambda row: FIRST.index(row[0].measure) if row[0].measure in FIRST else len(FIRST),
    )
    return [
        ExpectedLine(
            name=format_box(known.measures[key.measure], key.spot),
            was=format_predicted(float(each.was), _kind(known, key), units),
            now=format_predicted(float(each.value), _kind(known, key), units),
            spread=format_spread(float(each.u), _kind(known, key), units),
        )
        for key, each in rows
        if each.value != each.was
    ]


def _kind(known: Catalogue, key: Key) -> Kind:
    return Kind(known.measures[key.measure].kind)


def format_density_altitude(altitude: float, units: Units) -> str:
    """'1,740 ft' of metres, or '530 m'."""
    metric = units.for_kind(Kind.LENGTH) in {"mm", "cm", "m"}
    return f"{altitude:.0f} m" if metric else f"{altitude / FOOT:,.0f} ft"


def air_words(weather: Weather | None, units: Units) -> str:
    """'Air noted at 18:40: 95.0 % as dense as the standard, density altitude 1,740 ft.'"""
    if weather is None:
        return ""
    air = air_of(weather)
    at = clock(timezone.localtime(weather.noted_at))
    high = format_density_altitude(air.density_altitude, units)
    share = 100.0 * air.density / ISA_DENSITY
    return f"Air noted at {at}: {share:.1f} % as dense as the standard, density altitude {high}."


@dataclass(frozen=True, slots=True)
class LapShown:
    seconds: str
    mark: str  # why it does not count; empty where it does
    value: str = ""  # the mark as it is sent


@dataclass(frozen=True, slots=True)
class RunShown:
    """A run as a line: '10 of 12', '7.46', 'loose, turns, not said; good'."""

    run: RunNoted
    title: str
    head: str  # 'Pip, 18:42, paved, damp'
    laps: str
    middle: str
    best: str
    by_hand: str  # how sure the middle is, where it was timed by hand
    felt: str
    saw: str
    changes: str  # what stood changed on the car when it went out
    each: list[LapShown]

    @property
    def pk(self) -> object:
        return self.run.run.pk


def show_run(run: RunNoted, units: Units) -> RunShown:
    """One run in words and figures."""
    laps = run.laps
    return RunShown(
        run=run,
        title=run_title(run),
        head=_head(run),
        laps=f"{len(run.counted)} of {len(laps.times)}" if laps else "",
        middle=format_lap(run.middle, _places(run.laps)),
        best=format_lap(run.best, _places(run.laps)),
        by_hand=hand_words(run),
        felt=feel_words(run.feels.get(Feel.SaidBy.DRIVER)),
        saw=feel_words(run.feels.get(Feel.SaidBy.HANDLER)),
        changes=", ".join(_words(changes_kept(run.run), units)),
        each=_laps(laps),
    )


def _head(run: RunNoted) -> str:
    details = run.details
    parts = [
        str(details.driver) if details.driver else "",
        clock(timezone.localtime(run.run.ran_at)),
        details.get_surface_display().lower(),
        details.get_surface_state_display().lower() if details.surface_state else "",
        f"finished {details.finish}" if details.finish else "",
    ]
    return ", ".join(part for part in parts if part)


def run_title(run: RunNoted) -> str:
    """'Run 2', or 'Run 2, heat': practice goes without saying."""
    name = f"Run {run.number}" if run.number else "Run"
    kind = run.details.kind
    return name if kind == "practice" else f"{name}, {run.details.get_kind_display().lower()}"


def feel_words(feel: Feel | None) -> str:
    """'loose, turns, not said; good'; empty where nothing was said."""
    if feel is None:
        return ""
    where = [getattr(feel, name) or NOT_SAID for name in ("entry", "middle", "exit")]
    words = [", ".join(where)]
    if feel.hands:
        words.append(f"hands {feel.get_hands_display().lower()}")
    if feel.steering:
        words.append(feel.get_steering_display().lower())
    return "; ".join(words)


def format_lap(seconds: Decimal | None, places: int = 2) -> str:
    """'7.46', or '1:02.30' from a minute up."""
    if seconds is None:
        return ""
    minutes, rest = divmod(round(seconds, places), 60)
    if not minutes:
        return f"{rest:.{places}f}"
    return f"{minutes:.0f}:{rest:0{places + 3}.{places}f}"


def marked_words(marks: Sequence[str], usual: UsualSpread | None) -> str:
    """'12 laps, 10 counted.', and what the others were marked by."""
    counted = sum(not mark for mark in marks)
    says = f"{len(marks)} laps, {counted} counted."
    if not marks:
        return "No laps stand of this run now."
    if usual is None or counted == len(marks):
        return says
    runs = "run" if usual.runs == 1 else "runs"
    return (
        f"{says} Marked by how this driver's laps usually scatter here: {usual.seconds:.2f} s, "
        f"from {usual.runs} {runs} before and this one."
    )


def hand_words(run: RunNoted) -> str:
    """'middle 7.46 ± 0.05 s by hand'; empty where the track timed it or no lap counts."""
    middle = run.middle_by_hand
    if middle is None:
        return ""
    reach = math.ceil(100.0 * COVERAGE_95 * middle.u) / 100.0
    return f"middle {format_lap(Decimal(middle.seconds))} ± {reach:.2f} s by hand"


def _places(laps: Laps | None) -> int:
    """To a hundredth, unless it was timed finer."""
    finer = laps is not None and any(seconds != round(seconds, 2) for seconds in laps.times)
    return 3 if finer else 2


def laps_text(laps: Laps | None) -> str:
    """The laps as they are typed again: eight a line."""
    if laps is None:
        return ""
    each = [format_lap(seconds, _places(laps)) for seconds in laps.times]
    lines = [
        " ".join(each[start : start + LAPS_A_LINE]) for start in range(0, len(each), LAPS_A_LINE)
    ]
    return "\n".join(lines)


def _laps(laps: Laps | None) -> list[LapShown]:
    if laps is None:
        return []
    words = dict(Laps.Mark.choices)
    return [
        LapShown(format_lap(seconds, _places(laps)), words.get(mark, "").lower(), mark)
        for seconds, mark in zip(laps.times, laps.marks, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class BetweenRuns:
    """What was changed from one run to the next, and the middles of both."""

    before: RunShown
    after: RunShown
    changes: list[str]


def between(runs: Sequence[RunNoted], units: Units) -> BetweenRuns | None:
    """The newest two runs of a day, where something was changed between them."""
    if len(runs) < 2:
        return None
    after, before = runs[0], runs[1]
    then, now = changes_kept(before.run), changes_kept(after.run)
    added, gone = _without(now, then), _without(then, now)
    if not (added or gone) or before.run.sheet_id != after.run.sheet_id:
        return None
    return BetweenRuns(
        show_run(before, units),
        show_run(after, units),
        [*_words(added, units), *(f"{words}, put back" for words in _words(gone, units))],
    )


def _without(kept: list[dict[str, str]], others: list[dict[str, str]]) -> list[dict[str, str]]:
    ids = {one["id"] for one in others}
    return [one for one in kept if one["id"] not in ids]


def _words(kept: Iterable[dict[str, str]], units: Units) -> list[str]:
    return [
        format_kept_change(one["adjuster"], one["spot"], Decimal(one["amount"]), one["unit"], units)
        for one in kept
    ]
