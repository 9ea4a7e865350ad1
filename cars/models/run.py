from typing import Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from cars.models.car import Car
from cars.models.catalogue import Spot
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from cars.models.imports import (
    NOT_WITHDRAWN,
    STANDS,
    HangsOnImport,
    Import,
    of_its_import,
)
from cars.models.sheet import Sheet
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from clubsetup.quantities import bounds, kinds
from clubsetup.site.model_fields import QuantityField
from teams.models import Driver, Surface, Team, Track

_READ_WITH_THE_RUN = all_of(in_teams("reader"), STANDS)


def _of_the_run(name: str) -> SameParent:
    return SameParent(name=name, parent="run_id", shared="team_id", to="cars_run")


def _written_with_sheets(name: str, read: str = in_teams("reader")) -> RowSecurity:
    """Read as sheets are, written by whoever writes the team's sheets, never edited."""
    return RowSecurity(
        name=name,
        read=read,
        add=all_of(in_teams("sheet"), viewer_is("by_id")),
        change=in_teams("sheet"),
        change_columns=["replaced_at", "replaced_by_id"],
    )


class RunQuerySet(RowQuerySet["Run"]):
    """Runs, and some of them struck."""

    def current(self) -> Self:
        """Those that nobody struck."""
        return self.filter(struck_at__isnull=True)


class Run(Row):
    """A car went out once. What is said of it stands in rows of its own, which are replaced."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="runs", db_index=False)
    # The team that had the car then, and whose run it stays.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    ran_at = models.DateTimeField(help_text="When the car went out.")
    # The sheet as set that the car ran on; none where no figure of the car was taken before.
    sheet = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, null=True, blank=True, related_name="runs"
    )
    # As the car stood, so that no later sheet or change moves under the run:
    # the changes since the sheet, and the figures expected, canonical, by the name of their box.
    car_state = models.JSONField(default=dict)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    struck_reason = models.CharField(max_length=200, blank=True)
    from_import = models.ForeignKey(
        Import, on_delete=models.PROTECT, null=True, blank=True, related_name="runs"
    )

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-ran_at", "-id"]
        indexes = [
            models.Index(fields=["team", "id"], name="run_of_team"),
            models.Index(fields=["car", "-ran_at", "-id"], name="run_of_car"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(struck_at__isnull=True, struck_by__isnull=True, struck_reason="")
                | (Q(struck_at__isnull=False, struck_by__isnull=False) & ~Q(struck_reason="")),
                name="run_struck_at_with_by_and_reason",
            ),
            SameParent(name="run_team", parent="sheet_id", shared="team_id", to="cars_sheet"),
            SameParent(name="run_car", parent="sheet_id", shared="car_id", to="cars_sheet"),
            of_its_import("run_import_team"),
            RowSecurity(
                name="run",
                read=all_of(in_teams("reader"), NOT_WITHDRAWN),
                # The copy of the team must be the car's own when the row is made.
                add=all_of(
                    in_teams("sheet"),
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM cars_car c WHERE c.id = car_id"
                    " AND c.team_id = cars_run.team_id)",
                ),
                change=in_teams("sheet"),
                change_columns=["ran_at", "struck_at", "struck_by_id", "struck_reason"],
            ),
        ]

    def __str__(self) -> str:
        return f"Run of {self.car_id}"


class Weather(ReplacedRow):
    """The air at a track at one time, noted by hand. Never edited, only replaced."""

    class PressureOf(models.TextChoices):
        PLACE = "place", "Of the place"
        SEA_LEVEL = "sea-level", "Reduced to sea level, as a forecast says it"

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    track = models.ForeignKey(
        Track, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    noted_at = models.DateTimeField()
    temperature = QuantityField(kind=kinds.Kind.TEMPERATURE, limits=bounds.AIR)
    humidity = models.DecimalField(max_digits=5, decimal_places=2, help_text="Percent.")
    pressure = models.DecimalField(max_digits=8, decimal_places=2, help_text="hPa, as noted.")
    pressure_of = models.CharField(max_length=10, choices=PressureOf.choices)
    altitude = QuantityField(kind=kinds.Kind.LENGTH, limits=bounds.ALTITUDE, null=True, blank=True)

    objects = ReplacedRows["Weather"].as_manager()

    class Meta:
        ordering = ["-noted_at"]
        indexes = [
            models.Index(fields=["team", "id"], name="weather_of_team"),
            models.Index(fields=["team", "-noted_at"], name="weather_of_team_by_time"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(humidity__gte=0, humidity__lte=100), name="weather_humidity_percent"
            ),
            models.CheckConstraint(
                condition=Q(pressure_of="place") | Q(altitude__isnull=False),
                name="weather_sea_level_with_altitude",
            ),
            replaced_at_with_by("weather"),
            _written_with_sheets("weather"),
        ]

    def __str__(self) -> str:
        return "weather"


class RunDetails(HangsOnImport, ReplacedRow):
    """Where, who and how of a run. Never edited: a correction is a new row, the old one stays."""

    class Kind(models.TextChoices):
        PRACTICE = "practice", "Practice"
        HEAT = "heat", "Heat"
        MAIN = "main", "Main"

    class SurfaceState(models.TextChoices):
        COLD = "cold", "Cold track"
        WARM = "warm", "Warm track"
        HOT = "hot", "Hot track"
        DAMP = "damp", "Damp"
        DUSTY = "dusty", "Dusty"
        TACKY = "tacky", "Tacky"
        DRY_SLICK = "dry-slick", "Dry slick"

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="details", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.PRACTICE)
    driver = models.ForeignKey(
        Driver, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    track = models.ForeignKey(
        Track, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    weather = models.ForeignKey(
        Weather, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    surface = models.CharField(max_length=10, choices=Surface.choices)
    surface_state = models.CharField(max_length=10, choices=SurfaceState.choices, blank=True)
    finish = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="The position it finished in, where it raced."
    )
    fuel = QuantityField(kind=kinds.Kind.VOLUME, limits=bounds.FUEL, null=True, blank=True)
    fuel_typed = models.CharField(max_length=40, blank=True)
    damage = models.CharField(max_length=200, blank=True, help_text="'Hit the wall'.")
    damage_spots = ArrayField(
        models.CharField(max_length=10, choices=Spot.choices), default=list, blank=True
    )
    note = models.TextField(blank=True, help_text="What the handler saw.")

    objects = ReplacedRows["RunDetails"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="run_details_of_team"),
            models.Index(fields=["run", "team"], name="run_details_of_run"),
            # Of thousands of runs a few did damage.
            models.Index(fields=["team"], condition=~Q(damage=""), name="run_damage_of_team"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["run"], condition=Q(replaced_at__isnull=True), name="run_details_one_now"
            ),
            models.CheckConstraint(
                condition=Q(surface__in=Surface.values), name="run_details_surface_known"
            ),
            models.CheckConstraint(
                condition=Q(finish__isnull=True) | Q(finish__gte=1),
                name="run_details_finish_from_1",
            ),
            replaced_at_with_by("run_details"),
            _of_the_run("run_details_team"),
            _written_with_sheets("run_details", _READ_WITH_THE_RUN),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()


class Feel(HangsOnImport, ReplacedRow):
    """What the driver said of a run, or what the handler saw; kept apart. Empty is 'not said'."""

    class SaidBy(models.TextChoices):
        DRIVER = "driver", "The driver said"
        HANDLER = "handler", "The handler saw"

    class Balance(models.TextChoices):
        PUSHES = "pushes", "Pushes"
        TURNS = "turns", "Turns"
        LOOSE = "loose", "Loose"

    class Hands(models.TextChoices):
        RIGHT = "right", "Right"
        STRAIGHT = "straight", "Straight"
        LEFT = "bit-left", "A bit left"
        FAR_LEFT = "far-left", "Far left"

    class Steering(models.TextChoices):
        LIGHT = "light", "Light"
        GOOD = "good", "Good"
        HEAVY = "heavy", "Heavy"

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="feels", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    said_by = models.CharField(max_length=10, choices=SaidBy.choices)
    entry = models.CharField(max_length=10, choices=Balance.choices, blank=True)
    middle = models.CharField(max_length=10, choices=Balance.choices, blank=True)
    exit = models.CharField(max_length=10, choices=Balance.choices, blank=True)
    hands = models.CharField(
        max_length=10, choices=Hands.choices, blank=True, help_text="In the middle of the corner."
    )
    steering = models.CharField(max_length=10, choices=Steering.choices, blank=True)

    objects = ReplacedRows["Feel"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="feel_of_team"),
            models.Index(fields=["run", "team"], name="feel_of_run"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["run", "said_by"],
                condition=Q(replaced_at__isnull=True),
                name="feel_one_now",
            ),
            replaced_at_with_by("feel"),
            _of_the_run("feel_team"),
            _written_with_sheets("feel", _READ_WITH_THE_RUN),
        ]

    def __str__(self) -> str:
        return self.get_said_by_display()


class Laps(HangsOnImport, ReplacedRow):
    """The laps of a run, in one row: they are read and replaced together."""

    class TimedBy(models.TextChoices):
        TRANSPONDER = "transponder", "The track's timing"
        HAND = "hand", "By hand"

    class Mark(models.TextChoices):
        """Why a lap does not count; empty counts."""

        FIRST = "first", "First"
        CAUTION = "caution", "Caution"
        SPIN = "spin", "Spin"
        TRAFFIC = "traffic", "Traffic"
        TOO_FAST = "too-fast", "Too fast"
        BROKEN = "broken", "Timing broke off"
        LEFT_OUT = "left-out", "Left out"

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="laps", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    times = ArrayField(models.DecimalField(max_digits=7, decimal_places=3), size=500)  # seconds
    marks = ArrayField(models.CharField(max_length=10, blank=True, choices=Mark.choices))
    timed_by = models.CharField(max_length=12, choices=TimedBy.choices)
    typed = models.TextField(blank=True)

    objects = ReplacedRows["Laps"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="laps_of_team"),
            models.Index(fields=["run", "team"], name="laps_of_run"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["run"], condition=Q(replaced_at__isnull=True), name="laps_one_now"
            ),
            models.CheckConstraint(
                condition=Q(times__len__gte=1, times__len=models.F("marks__len")),
                name="laps_each_with_mark",
            ),
            replaced_at_with_by("laps"),
            _of_the_run("laps_team"),
            _written_with_sheets("laps", _READ_WITH_THE_RUN),
        ]

    def __str__(self) -> str:
        return f"{len(self.times)} laps"
