"""The API of runs: noted, corrected, struck; how they felt and what laps they were."""

from collections.abc import Sequence
from dataclasses import fields
from typing import Any
from uuid import UUID

from django.db.models import Model
from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.response import Response

from cars.api_base import InClubUnits, Listed
from cars.models import Run
from cars.runs.actions import runs as actions
from cars.runs.actions.runs import FeelSaid, RunFacts, TimedLaps
from cars.runs.api import serializers as s
from cars.runs.queries.run_notes import entries_of, laps_of, with_notes
from clubsetup.access.api.creating import creates
from teams.api.base import ListsOfTeams, NotesReaders

NOTED_MEANWHILE = OpenApiResponse(
    description="The run is struck, or somebody else noted this since you looked: `standing` is "
    "the id of what stands now, or null."
)


def _facts(given: dict[str, Any]) -> RunFacts:
    return RunFacts(**{field.name: given.pop(field.name) for field in fields(RunFacts)})


def _said(given: dict[str, str] | None) -> FeelSaid | None:
    return FeelSaid(**given) if given else None


def _laps(given: dict[str, Any] | None) -> TimedLaps | None:
    return TimedLaps(**given) if given and given["times"] else None


@extend_schema_view(create=creates(s.RunSerializer, s.RunCreateSerializer))
class Runs(ListsOfTeams, NotesReaders, InClubUnits, Listed):
    """Runs of one's cars and of those one coaches, with what stands of each."""

    queryset = with_notes(Run.objects.select_related("team__club").order_by("-id"))
    serializer_class = s.RunSerializer
    create_serializer_class = s.RunCreateSerializer
    filterset_fields = {"car": ["exact"], "sheet": ["exact"], "struck_at": ["isnull"]}
    club_from, club_by = "car", "teams__cars__pk"

    def make(self, *, row_id: UUID, **given: Any) -> Run:
        """Notes the run."""
        return actions.note_run(
            by=self.by,
            run_id=row_id,
            facts=_facts(given),
            said=_said(given.pop("driver_said")),
            seen=_said(given.pop("handler_saw")),
            laps=_laps(given.pop("laps")),
            **given,
        )

    def paginate_queryset(self, queryset: Any) -> Any:
        """The page, each run with its entry."""
        return self._with_entries(super().paginate_queryset(queryset))

    def get_object(self) -> Any:
        """The run with its entry."""
        return self._with_entries([super().get_object()])[0]

    def answer(self, row: Model) -> dict[str, Any]:
        """The run with what stands of it."""
        (run,) = self._with_entries([self.get_queryset().get(pk=row.pk)])
        return super().answer(run)

    @staticmethod
    def _with_entries(runs: Sequence[Any]) -> Sequence[Any]:
        entries = entries_of(runs)
        for run in runs:
            run.entered_for = entries.get(run)
        return runs

    def _given(self, kind: Any, run: Run, **more: Any) -> dict[str, Any]:
        units = self.by.units(run.team.club.units())
        given = kind(data=self.request.data, context={"units": units}, **more)
        given.is_valid(raise_exception=True)
        return dict(given.validated_data)

    @extend_schema(
        request=s.RunCorrectSerializer, responses={200: s.RunSerializer, 409: NOTED_MEANWHILE}
    )
    @action(detail=True, methods=["put"])
    def details(self, *_: Any, **__: Any) -> Response:
        """Writes the facts of a run anew; those that stood before are kept."""
        run = self.get_object()
        given = self._given(s.RunCorrectSerializer, run)
        ran_at, seen = given.pop("ran_at"), given.pop("seen")
        facts = _facts(given)
        actions.correct_run(by=self.by, run=run, facts=facts, expected=seen, ran_at=ran_at)
        return Response(self.answer(run))

    @extend_schema(
        request=s.FeelNoteSerializer, responses={200: s.RunSerializer, 409: NOTED_MEANWHILE}
    )
    @action(detail=True, methods=["put"])
    def feel(self, *_: Any, **__: Any) -> Response:
        """How the run felt to the driver, or what the handler saw; the two stand apart."""
        run = self.get_object()
        given = self._given(s.FeelNoteSerializer, run)
        said_by, seen = given.pop("said_by"), given.pop("seen")
        feel = FeelSaid(**given)
        actions.note_feel(by=self.by, run=run, said_by=said_by, feel=feel, expected=seen)
        return Response(self.answer(run))

    @extend_schema(responses=s.StandingLapsSerializer, filters=False)
    @action(detail=True, pagination_class=None, filterset_fields=())
    def laps(self, *_: Any, **__: Any) -> Response:
        """The laps that stand."""
        return _standing(self.get_object())

    @extend_schema(
        request=s.LapsNoteSerializer,
        responses={200: s.StandingLapsSerializer, 409: NOTED_MEANWHILE},
    )
    @laps.mapping.put
    def note_laps(self, *_: Any, **__: Any) -> Response:
        """The laps of the run in place of those that stood, which stay."""
        run = self.get_object()
        given = self._given(s.LapsNoteSerializer, run)
        seen = given.pop("seen")
        actions.note_laps(by=self.by, run=run, laps=_laps(given), expected=seen)
        return _standing(run)

    @extend_schema(
        request=s.StrikeSerializer,
        responses={200: s.RunSerializer, 409: OpenApiResponse(description="It is struck already.")},
    )
    @action(detail=True, methods=["post"])
    def strike(self, *_: Any, **__: Any) -> Response:
        """A run that was none, or was noted twice: it stays to be read, and counts for nothing."""
        run = self.get_object()
        given = self._given(s.StrikeSerializer, run)
        actions.strike_run(by=self.by, run=run, reason=given["reason"])
        return Response(self.answer(run))


def _standing(run: Run) -> Response:
    return Response(s.StandingLapsSerializer({"laps": laps_of(run)}).data)
