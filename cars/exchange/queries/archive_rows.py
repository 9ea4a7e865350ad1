"""The rows of a team's archive, as whoever is looking sees them, a thousand at a time."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from itertools import islice
from typing import Any
from uuid import UUID

from django.db.models import ForeignKey, Model

from cars.exchange.queries.archive_kinds import ArchiveKind, Section
from cars.models import BallastMount, BallastPiece, Baseline, Car, Chassis, Reading
from clubsetup.access.models import User
from teams.models import Driver, RaceClass, Track

AT_ONCE = 1000
Values = tuple[Any, ...]

# Things that a reader knows by their name, with what the name is put together of.
_NAMED: dict[type[Model], tuple[str, ...]] = {
    **dict.fromkeys((BallastMount, BallastPiece, Car, Chassis, Driver, RaceClass), ()),
    **dict.fromkeys((Track, User), ()),
    Baseline: ("chassis",),
}


class Pointed:
    """Which rows of the club's the rows written so far point at; there are few of them."""

    def __init__(self) -> None:
        self._ids: dict[type[Model], set[Any]] = defaultdict(set)

    def note(self, kind: ArchiveKind, rows: Sequence[Values]) -> None:
        """What these point at."""
        for place, column in enumerate(kind.columns):
            if isinstance(column, ForeignKey):
                self._ids[column.related_model].update(row[place] for row in rows)

    def at(self, model: type[Model]) -> Collection[Any]:
        """The ids of that table that were pointed at."""
        return self._ids[model] - {None}


def chunks_of(kind: ArchiveKind, team_id: UUID, pointed: Pointed) -> Iterator[list[Values]]:
    """The kind's rows in the order of their ids; notes what they point at."""
    if kind.section == Section.CLUB:
        hangs_on = kind.model._meta.get_field(kind.of.removesuffix("_id")) if kind.of != "pk" else 0
        model = hangs_on.related_model if isinstance(hangs_on, ForeignKey) else kind.model
        rows = kind.model._default_manager.filter(**{f"{kind.of}__in": pointed.at(model)})
    else:
        rows = kind.of_team(team_id)
    names = [column.attname for column in kind.columns]
    # A queryset's own order may join what the archive does not need.
    each = rows.order_by("pk").values_list(*names).iterator(AT_ONCE)
    while chunk := list(islice(each, AT_ONCE)):
        pointed.note(kind, chunk)
        yield chunk


class Names:
    """What the things that rows point at are called; looked up a chunk at a time."""

    def __init__(self, more: Collection[type[Model]] = ()) -> None:
        """`more` are models beside those of this slice."""
        self._joined = {**dict.fromkeys(more, ()), **_NAMED}
        self._known: dict[type[Model], dict[Any, str]] = defaultdict(dict)

    def look_up(self, kind: ArchiveKind, rows: Sequence[Values]) -> None:
        """Whatever is not known yet of these rows."""
        for place, column in enumerate(kind.columns):
            if not isinstance(column, ForeignKey) or column.related_model not in self._joined:
                continue
            known = self._known[column.related_model]
            wanted = {row[place] for row in rows} - known.keys() - {None}
            if wanted:
                things = column.related_model._default_manager.select_related(
                    *self._joined[column.related_model]
                )
                known.update({pk: str(one) for pk, one in things.in_bulk(wanted).items()})
                known.update({pk: str(pk) for pk in wanted - known.keys()})

    def of(self, model: Any, pk: Any) -> str:
        """Its name; its id where it has none."""
        return self._known[model].get(pk, str(pk))


def figures_by_sheet(team_id: UUID) -> Iterator[tuple[UUID, dict[str, Any]]]:
    """The figures that stand on each sheet, by box: first takes, as numbers or as the words."""
    readings = Reading.objects.current().filter(team_id=team_id, take=1).order_by("sheet_id", "pk")
    of_one: dict[str, Any] = {}
    sheet_id: UUID | None = None
    names = ("sheet_id", "measure_id", "spot", "value", "typed")
    for sheet, measure, spot, value, typed in readings.values_list(*names).iterator(AT_ONCE):
        if sheet != sheet_id:
            if sheet_id is not None:
                yield sheet_id, of_one
            sheet_id, of_one = sheet, {}
        of_one[f"{measure}.{spot}"] = typed if value is None else value
    if sheet_id is not None:
        yield sheet_id, of_one
