"""The kinds of rows that a team's archive holds, and what of each row stays behind.

`tests/cars/exchange/test_archive_kinds.py` goes over all models: each is of a kind here or brought
by an app above (`archive_kinds` in its AppConfig), or stands in NOT_IN_ARCHIVE with its reason.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import chain
from types import MappingProxyType
from typing import Any
from uuid import UUID

from django.core.exceptions import ImproperlyConfigured
from django.db import models
from django.db.models import Model, QuerySet

from cars.models import (
    Advice,
    AdviceReply,
    BallastMount,
    BallastPiece,
    Baseline,
    BaselineValue,
    CalibrationReset,
    Car,
    Change,
    Chassis,
    Comment,
    Feel,
    HandedRun,
    HandedSheet,
    ImportedArchive,
    Laps,
    Measure,
    Ownership,
    OwnTarget,
    Part,
    PartCode,
    PartFitted,
    PartLimit,
    PartStart,
    Plan,
    Reading,
    Run,
    RunDetails,
    RunPart,
    RunReading,
    Sheet,
    SheetTargetSource,
    Suggestion,
    SuggestionTable,
    TrackChange,
    TrackReading,
    Weather,
)
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import CANONICAL
from clubsetup.site.contributions import contributed
from clubsetup.site.model_fields import QuantityField
from teams.models import Driver, DriverBirth, DriverWeight, RaceClass, Track

# Whose a row is, is said once, at the head of the archive; what is withdrawn nobody reads.
STAYS_BEHIND = frozenset({"team", "club", "withdrawn"})


class Section(StrEnum):
    """What a row is to the team."""

    TEAM = "team"  # its own
    CLUB = "club"  # its club's, and the team's rows point at it
    RECORD = "record"  # what officials wrote of it


Rows = Callable[[UUID], "QuerySet[Any]"]


@dataclass(frozen=True, kw_only=True)
class ArchiveKind:
    """One kind of row: a list in the JSON and a sheet in the XLSX, both by its name.

    `rows(team_id)` are a team's; of what is the club's, those that the rows before pointed at, and
    `of` names the column by which they hang on one of these. `omit` are columns that stay behind.
    `units` are those of numbers whose field does not say it.
    """

    name: str
    model: type[Model]
    section: Section = Section.TEAM
    rows: Rows | None = None
    of: str = "pk"
    omit: frozenset[str] = frozenset()
    # Columns of a picture's name and of the picture: files beside the rows.
    pictures: tuple[str, str] | None = None
    only: frozenset[str] = frozenset()
    # What says whose it is where it comes in, of the columns it has.
    whose: frozenset[str] = frozenset({"team_id", "club_id"})
    units: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def columns(self) -> list["models.Field[Any, Any]"]:
        """The columns that are in the archive, the id first."""
        fields = self.model._meta.concrete_fields
        chosen = [one for one in fields if not self.only or one.name in self.only]
        return [one for one in chosen if one.name not in self.omit | STAYS_BEHIND]

    def of_team(self, team_id: UUID) -> "QuerySet[Any]":
        """The team's rows, as far as whoever is looking may see them."""
        if self.rows is not None:
            return self.rows(team_id)
        return self.model._default_manager.filter(team_id=team_id)

    def unit_of(self, column: "models.Field[Any, Any]") -> str:
        """The unit of a number; empty where it has none, or the measure says it."""
        if isinstance(column, QuantityField):
            return CANONICAL[column.kind]
        return self.units.get(column.name, "")

    def is_of_measure(self, column: "models.Field[Any, Any]") -> bool:
        """Whether the row's measure says the unit of this number."""
        names = {one.name for one in self.columns}
        is_number = isinstance(column, models.DecimalField) and not self.unit_of(column)
        return is_number and "measure" in names and column.name in OF_THE_MEASURE


OF_THE_MEASURE = ("value", "resolution", "target", "tolerance", "wanted")


def _suggestions(team_id: UUID) -> "QuerySet[Any]":
    return Suggestion.objects.filter(table__team_id=team_id)


_KG, _MM, _RATE = CANONICAL[Kind.MASS], CANONICAL[Kind.LENGTH], CANONICAL[Kind.SPRING_RATE]
_PLAN = dict.fromkeys(("loads_before", "loads", "u_loads"), _KG) | {
    **dict.fromkeys(("heights_before", "heights", "u_heights"), _MM),
    **dict.fromkeys(("cross_before", "cross", "u_cross"), "fraction"),
    "turns": "turn",
}

# In the order in which they can be added: what a row points at stands before it.
TEAM_KINDS = (
    ArchiveKind(name="drivers", model=Driver),
    ArchiveKind(name="driver_births", model=DriverBirth),
    ArchiveKind(name="driver_weights", model=DriverWeight),
    ArchiveKind(name="parts", model=Part, units={"rate": _RATE}),
    ArchiveKind(name="part_codes", model=PartCode),
    ArchiveKind(name="part_starts", model=PartStart, units={"hours": "h"}),
    ArchiveKind(name="part_limits", model=PartLimit, whose=frozenset({"team_id"})),
    ArchiveKind(name="cars", model=Car),
    ArchiveKind(name="ownerships", model=Ownership),
    ArchiveKind(name="ballast_pieces", model=BallastPiece),
    ArchiveKind(name="own_targets", model=OwnTarget),
    ArchiveKind(name="calibration_resets", model=CalibrationReset),
    ArchiveKind(name="sheets", model=Sheet),
    ArchiveKind(name="sheet_target_sources", model=SheetTargetSource),
    ArchiveKind(name="readings", model=Reading),
    ArchiveKind(name="changes", model=Change),
    ArchiveKind(name="parts_fitted", model=PartFitted),
    ArchiveKind(name="plans", model=Plan, units=_PLAN),
    ArchiveKind(name="comments", model=Comment),
    ArchiveKind(name="track_changes", model=TrackChange),
    ArchiveKind(name="track_readings", model=TrackReading),
    ArchiveKind(name="weather", model=Weather, units={"humidity": "%", "pressure": "hPa"}),
    ArchiveKind(name="runs", model=Run),
    ArchiveKind(name="run_details", model=RunDetails),
    ArchiveKind(name="feels", model=Feel),
    ArchiveKind(name="laps", model=Laps, units={"times": "s"}),
    ArchiveKind(name="run_readings", model=RunReading),
    ArchiveKind(name="run_parts", model=RunPart),
    ArchiveKind(name="handed_sheets", model=HandedSheet, omit=frozenset({"handover"})),
    ArchiveKind(name="handed_runs", model=HandedRun, omit=frozenset({"handover"})),
    ArchiveKind(name="advice", model=Advice),
    ArchiveKind(name="advice_replies", model=AdviceReply),
    ArchiveKind(name="suggestion_tables", model=SuggestionTable, omit=frozenset({"coach"})),
    ArchiveKind(name="imported_archives", model=ImportedArchive),
    ArchiveKind(name="suggestions", model=Suggestion, rows=_suggestions, units={"minutes": "min"}),
)
# What these point at, in an order in which what points stands before what it points at.
CLUB_KINDS = (
    ArchiveKind(name="baselines", model=Baseline, section=Section.CLUB),
    ArchiveKind(
        name="baseline_values", model=BaselineValue, section=Section.CLUB, of="baseline_id"
    ),
    ArchiveKind(name="ballast_mounts", model=BallastMount, section=Section.CLUB),
    ArchiveKind(name="chassis", model=Chassis, section=Section.CLUB),
    ArchiveKind(name="race_classes", model=RaceClass, section=Section.CLUB),
    ArchiveKind(name="tracks", model=Track, section=Section.CLUB),
    ArchiveKind(name="people", model=User, section=Section.CLUB, only=frozenset({"id", "name"})),
)

# Every other table, and why no row of it is in an archive.
NOT_IN_ARCHIVE = {
    "teams.Team": "its head says which team it is",
    "teams.Club": "its head says which club that is",
    "teams.ClubMember": "who is what in a club is the club's",
    "teams.TeamMember": "who may see a team is decided where it comes in",
    "teams.CoachLink": "who may see a team is decided where it comes in",
    "teams.Invitation": "a link that lets somebody in opens one service alone",
    "cars.Step": "the catalogue is the same for everybody",
    "cars.Measure": "the catalogue is the same for everybody; its names and units are at the head",
    "cars.ClosedFigures": "computed from readings, and computed anew where they come in",
    "cars.Handover": "between two teams; what was taken is sheets of the team",
    "cars.Import": "a file that was read in; what it brought is in the archive",
    "cars.ImportColumns": "how columns of a team's files were read last",
    "cars.SchoolDay": "a coach's plan, which is the coach's and not the team's",
    "cars.Outing": "of a coach's plan; the sheets it names are in the archive",
    "cars.Comparison": "ids of sheets that one person printed",
    "access.ApiToken": "what opens a person's account",
    "access.ResetCode": "what opens a person's account",
    "access.SignIn": "where a person is signed in",
    "access.IdempotencyKey": "what was sent to this service, so that it is not written twice",
    "access.TrailLine": "the trail of this service, which stays with it",
    "printing.PrintJob": "the bookkeeping of prints; the prints themselves are in the archive",
    "printing.StoredPrint": "the bookkeeping of prints; the prints themselves are in the archive",
}

_kinds: list[ArchiveKind] = []


def collect() -> None:
    """From what the apps list as `archive_kinds`; two cannot have the same name."""
    kinds = list(chain(*contributed("archive_kinds")))
    if len({kind.name for kind in kinds}) < len(kinds):
        raise ImproperlyConfigured("two kinds of an archive want the same name")
    _kinds[:] = kinds


def archive_kinds(section: Section) -> list[ArchiveKind]:
    """The kinds of one section. Of the club's those that a higher app brings come first: what
    they point at stands below."""
    kinds = [kind for kind in _kinds if kind.section == section]
    if section != Section.CLUB:
        return kinds
    own = [kind for kind in kinds if kind in CLUB_KINDS]
    return [kind for kind in kinds if kind not in CLUB_KINDS] + own


def measure_units() -> dict[str, dict[str, str]]:
    """Name and canonical unit of each measure; the unit is empty for words and checks."""
    return {
        one.pk: {"name": one.name, "unit": CANONICAL[Kind(one.kind)] if one.kind else ""}
        for one in Measure.objects.order_by("step__order", "order")
    }


KINDS = (*TEAM_KINDS, *CLUB_KINDS)
