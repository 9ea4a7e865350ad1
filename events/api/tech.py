"""The API of official records: added, read, never changed."""

from typing import Any
from uuid import UUID

from django.db.models import Prefetch
from drf_spectacular.utils import extend_schema_view
from rest_framework import mixins
from rest_framework.viewsets import ReadOnlyModelViewSet

from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking
from events.actions.ballast import check_ballast, check_no_ballast, record_not_on_car
from events.actions.measuring import measure_car
from events.actions.voiding import void_ballast_check, void_tech_reading, void_weigh_in
from events.actions.weighing import weigh
from events.api import tech_serializers as s
from events.api.base import PostInClubUnits
from events.models import BallastCheck, BallastPhoto, Entry, Finding, TechReading, Void, WeighIn
from teams.api.base import ListsOfTeamsAndDesks, NotesReaders
from teams.models import Club

ENTRIES = Entry.objects.select_related("club")


class OfEntry(
    ListsOfTeamsAndDesks,
    NotesReaders,
    PostInClubUnits,
    CreateOnceMixin,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
):
    """Records of an entry; officials add, the team, its coaches and stewards read."""

    filterset_fields: Any = ("entry", "entry__event")

    def club_sent(self, sent_id: UUID) -> Club | None:
        """The club holding the event of the entry."""
        entry = ENTRIES.filter(pk=sent_id).first()
        return entry.club if entry else None


@extend_schema_view(create=creates(s.WeighInSerializer, s.WeighInCreateSerializer))
class WeighIns(OfEntry):
    """Weigh-ins, each with what was found on it."""

    queryset = WeighIn.objects.select_related("void").prefetch_related("findings").order_by("-id")
    serializer_class = s.WeighInSerializer
    create_serializer_class = s.WeighInCreateSerializer

    def make(self, *, row_id: UUID, **given: Any) -> WeighIn:
        """Weighs, and finds at once."""
        return weigh(by=asking(self.request), weigh_in_id=row_id, **given)


@extend_schema_view(create=creates(s.BallastCheckSerializer, s.BallastCheckCreateSerializer))
class BallastChecks(OfEntry):
    """Looks at pieces of ballast."""

    queryset = (
        BallastCheck.objects.select_related("void")
        .prefetch_related(Prefetch("photos", BallastPhoto.objects.listed()))
        .order_by("-id")
    )
    serializer_class = s.BallastCheckSerializer
    create_serializer_class = s.BallastCheckCreateSerializer

    def make(self, *, row_id: UUID, **given: Any) -> BallastCheck:
        """Keeps a look at a piece, that it is not on the car, or that there is none."""
        by = asking(self.request)
        common = {name: given[name] for name in ("entry", "device_at")}
        off = {name: given.pop(name) for name in ("look", "reason")}
        if given.pop("none_on_car"):
            return check_no_ballast(by=by, check_id=row_id, **common)
        if given.pop("not_on_car"):
            return record_not_on_car(by=by, check_id=row_id, piece=given["piece"], **off, **common)
        return check_ballast(by=by, check_id=row_id, **given)


@extend_schema_view(create=creates(s.TechReadingSerializer, s.TechReadingCreateSerializer))
class TechReadings(OfEntry):
    """Lengths that officials measured on cars."""

    queryset = TechReading.objects.select_related("void").order_by("-id")
    serializer_class = s.TechReadingSerializer
    create_serializer_class = s.TechReadingCreateSerializer

    def make(self, *, row_id: UUID, **given: Any) -> TechReading:
        """Keeps a length, and finds at once."""
        return measure_car(by=asking(self.request), reading_id=row_id, **given)


@extend_schema_view(create=creates(s.VoidSerializer, s.VoidCreateSerializer))
class Voids(OfEntry):
    """What was taken out of force, by whom and why."""

    queryset = Void.objects.order_by("-id")
    serializer_class = s.VoidSerializer
    create_serializer_class = s.VoidCreateSerializer

    def make(self, *, row_id: UUID, **given: Any) -> Void:
        """Voids one record."""
        by = asking(self.request)
        if "weigh_in" in given:
            return void_weigh_in(by=by, void_id=row_id, **given)
        if "tech_reading" in given:
            return void_tech_reading(by=by, void_id=row_id, **given)
        return void_ballast_check(by=by, void_id=row_id, **given)


class Findings(ListsOfTeamsAndDesks, NotesReaders, ReadOnlyModelViewSet[Finding]):
    """Findings; of an entry those of the newest batch stand."""

    queryset = Finding.objects.order_by("-id")
    serializer_class = s.FindingSerializer
    filterset_fields = ("entry", "entry__event", "outcome", "batch")
