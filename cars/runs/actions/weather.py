"""The air at a track, noted by hand."""

from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from cars.mechanics import BadInput
from cars.mechanics.air import density
from cars.models import Run, RunDetails, Weather
from cars.runs.actions.at_track import time_at_track
from cars.runs.queries.air import pressure_of_place
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Team, Track
from teams.permissions import check_can_write_sheets

# What the formula of the air's density is stated for.
CANNOT_BE = {
    "temperature": "The air at a track is between -10 and 50 °C (14 and 122 °F).",
    "pressure": "The pressure of a place is between 600 and 1100 hPa (18 and 32 inHg).",
    "altitude": "A track lies between 1,000 m under the sea and 11,000 m above.",
}

NO_ALTITUDE = "A forecast's pressure is reduced to sea level: write the track's altitude."
# In a club's unit of length, which is that of a car, a bare number would be inches.
NO_UNIT = "Write the altitude with its unit: 300 ft or 90 m."


@action
def note_weather(
    *,
    by: User,
    team: Team,
    temperature: Decimal,
    humidity: Decimal,
    pressure: Decimal,
    pressure_of: str,
    altitude: Decimal | None = None,
    track: Track | None = None,
    noted_at: datetime | None = None,
    weather_id: UUID | None = None,
) -> Weather:
    """Degree C, percent, hPa and mm. A forecast's pressure needs the altitude of the track."""
    check_can_write_sheets(by, team)
    if track is not None and track.club_id != team.club_id:
        raise Invalid("track", "Choose a track of the team's club.")
    weather = Weather(
        pk=weather_id or new_id(),
        team=team,
        track=track,
        noted_at=time_at_track("noted_at", noted_at),
        temperature=temperature,
        humidity=humidity,
        pressure=pressure,
        pressure_of=pressure_of,
        altitude=altitude,
        by=by,
    )
    _check(weather)
    weather.save(force_insert=True)
    record(by=by, did="noted", on=weather, team_id=team.pk)
    return weather


@action
def correct_weather(
    *,
    by: User,
    weather: Weather,
    temperature: Decimal,
    humidity: Decimal,
    pressure: Decimal,
    pressure_of: str,
    altitude: Decimal | None = None,
    weather_id: UUID | None = None,
) -> Weather:
    """The same air noted rightly, in place of what stood, which stays.

    The facts of each run that rests on it are written anew, so that the run rests on what is right
    and what it rested on is kept. Raises WrongState where it was corrected before.
    """
    check_can_write_sheets(by, weather.team)
    held = Weather.objects.select_for_update(of=("self",), no_key=True).select_related("team")
    weather = held.get(pk=weather.pk)
    if weather.replaced_at is not None:
        raise WrongState("This weather was corrected since you looked. Look at what stands now.")
    right = Weather(
        pk=weather_id or new_id(),
        team=weather.team,
        track_id=weather.track_id,
        noted_at=weather.noted_at,
        temperature=temperature,
        humidity=humidity,
        pressure=pressure,
        pressure_of=pressure_of,
        altitude=altitude,
        by=by,
    )
    _check(right)
    right.save(force_insert=True)
    weather.replaced_at, weather.replaced_by = timezone.now(), by
    weather.save(update_fields=["replaced_at", "replaced_by"])
    runs = _rest_runs_on(by, weather, right)
    record(
        by=by, did="corrected", on=right, team_id=weather.team_id, was=str(weather.pk), runs=runs
    )
    return right


def _rest_runs_on(by: User, was: Weather, right: Weather) -> int:
    """Writes the facts anew of every run that rests on `was`, which is held; how many.

    The runs are held in the order of their ids, and after the weather: as in `note_run`.
    """
    resting = RunDetails.objects.current().filter(weather=was)
    runs = Run.objects.select_for_update(of=("self",)).filter(pk__in=resting.values("run"))
    held = [run.pk for run in runs.order_by("pk")]
    # Read only now: whoever held a run before may have written its facts.
    rows = list(resting.filter(run__in=held))
    for row in rows:
        row.replaced_at, row.replaced_by = timezone.now(), by
        row.save(update_fields=["replaced_at", "replaced_by"])
        row.pk, row.weather, row.by = new_id(), right, by
        row.replaced_at = row.replaced_by = None
        row.save(force_insert=True)
    return len(rows)


def _check(weather: Weather) -> None:
    if not 0 <= weather.humidity <= 100:
        raise Invalid("humidity", "Humidity is from 0 to 100 %.")
    if weather.pressure_of not in Weather.PressureOf.values:
        raise Invalid("pressure_of", "Say whether it is the pressure of the place or a forecast's.")
    if weather.pressure_of == Weather.PressureOf.SEA_LEVEL and weather.altitude is None:
        raise Invalid("altitude", NO_ALTITUDE)
    try:
        density(
            float(weather.temperature), pressure_of_place(weather), float(weather.humidity) / 100
        )
    except BadInput as refused:
        field = refused.quantity if refused.quantity in CANNOT_BE else "pressure"
        raise Invalid(field, f"This cannot be right. {CANNOT_BE[field]}") from refused
