"""The API of rules and scales."""

from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking
from events.actions import rule_sets as actions
from events.actions.scale_checks import set_corrections
from events.actions.scales import add_scale_set
from events.api import serializers as s
from events.api.base import PostInClubUnits
from events.models import Rule, RuleSet, ScaleSet
from events.queries.rule_changes import changes_since, chosen_earlier, earlier_versions
from events.queries.rule_sets import kinds_by_title
from events.rules import RuleKind
from teams.api.base import ListsOfClubs
from teams.models import Club

SINCE = OpenApiParameter("since", OpenApiTypes.INT, description="An earlier version's number.")
NOTHING_BEFORE: dict[str, Any] = {"earlier": None, "rules": [], "decision": None}


@extend_schema_view(create=creates(s.RuleSetSerializer, s.RuleSetCreateSerializer))
class RuleSets(ListsOfClubs, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin):
    """Versions of classes' rules: drafted, filled, published for a date, retired."""

    queryset = RuleSet.objects.select_related("club").prefetch_related("rules").order_by("-id")
    serializer_class = s.RuleSetSerializer
    create_serializer_class = s.RuleSetCreateSerializer
    filterset_fields = ("club", "race_class", "state")

    def make(self, *, row_id: UUID, **given: Any) -> RuleSet:
        """Drafts the next version."""
        return actions.draft_rule_set(by=asking(self.request), rule_set_id=row_id, **given)

    @extend_schema(request=s.RuleSetChangeSerializer, responses=s.RuleSetSerializer)
    def update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes a draft's date and how it decides."""
        given = s.RuleSetChangeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = actions.set_rule_set(
            by=asking(request), rule_set=self.get_object(), **given.validated_data
        )
        return Response(s.RuleSetSerializer(done).data)

    @extend_schema(request=None, responses=s.RuleSetSerializer)
    @action(detail=True, methods=["post"])
    def publish(self, request: Request, **_: Any) -> Response:
        """Publishes a draft; it never changes again."""
        done = actions.publish_rule_set(by=asking(request), rule_set=self.get_object())
        return Response(s.RuleSetSerializer(done).data)

    @extend_schema(request=None, responses=s.RuleSetSerializer)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, **_: Any) -> Response:
        """Takes a published version out of use."""
        done = actions.retire_rule_set(by=asking(request), rule_set=self.get_object())
        return Response(s.RuleSetSerializer(done).data)

    @extend_schema(responses=s.RuleChangesSerializer, parameters=[SINCE], filters=False)
    @action(detail=True, pagination_class=None, filterset_fields=())
    def changes(self, request: Request, **_: Any) -> Response:
        """What differs from the version just before, or from the one asked for."""
        rule_set = self.get_object()
        chosen = request.query_params.get("since", "")
        since = chosen_earlier(earlier_versions(rule_set, chosen), chosen)
        units = asking(request).units(rule_set.club.units())
        differences = since and changes_since(since, rule_set, units)
        return Response(s.RuleChangesSerializer(differences or NOTHING_BEFORE).data)


@extend_schema_view(create=creates(s.RuleSerializer, s.RuleCreateSerializer))
class Rules(ListsOfClubs, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin):
    """The rules of the versions; `DELETE` takes one out of a draft."""

    queryset = Rule.objects.select_related("rule_set__club").order_by("-id")
    serializer_class = s.RuleSerializer
    create_serializer_class = s.RuleCreateSerializer
    filterset_fields = ("rule_set", "kind")

    def make(self, *, row_id: UUID, **given: Any) -> Rule:
        """Adds a rule to a draft."""
        return actions.add_rule(by=asking(self.request), rule_id=row_id, **given)

    @extend_schema(request=s.RuleChangeSerializer, responses=s.RuleSerializer)
    def update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Declares a rule of a draft anew."""
        given = s.RuleChangeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = actions.change_rule(
            by=asking(request), rule=self.get_object(), **given.validated_data
        )
        return Response(s.RuleSerializer(done).data)

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, *_: Any, **__: Any) -> Response:
        """Takes a rule out of a draft."""
        actions.remove_rule(by=asking(request), rule=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)


class RuleKinds(APIView):
    """Every kind of rule that there is, with its parameters."""

    @extend_schema(responses=s.RuleKindSerializer(many=True))
    def get(self, request: Request) -> Response:
        """The kinds by title."""
        return Response([_declared(kind) for kind in kinds_by_title()])


def _declared(kind: type[RuleKind]) -> dict[str, Any]:
    parameters = [
        {
            "name": name,
            "label": p.label,
            "sort": p.sort,
            "quantity": p.quantity and str(p.quantity),
            "choices": [str(c) for c in p.choices],
            "least": p.bounds and str(p.bounds.low),
            "most": p.bounds and str(p.bounds.high),
        }
        for name, p in kind.parameters().items()
    ]
    return {"kind": kind.kind, "title": kind.title, "parameters": parameters}


@extend_schema_view(create=creates(s.ScaleSetSerializer, s.ScaleSetCreateSerializer))
class ScaleSets(
    ListsOfClubs, PostInClubUnits, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """What the club weighs with."""

    queryset = ScaleSet.objects.select_related("club").order_by("-id")
    serializer_class = s.ScaleSetSerializer
    create_serializer_class = s.ScaleSetCreateSerializer
    filterset_fields = ("club",)

    def make(self, *, row_id: UUID, **given: Any) -> ScaleSet:
        """Adds scales."""
        return add_scale_set(by=asking(self.request), scale_set_id=row_id, **given)

    @extend_schema(request=s.CorrectionsSerializer, responses=s.ScaleSetSerializer)
    @action(detail=True, methods=["post"])
    def corrections(self, request: Request, **_: Any) -> Response:
        """Counts weights with the correction of the day's check from now on, or as read."""
        given = s.CorrectionsSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = set_corrections(
            by=asking(request), scale_set=self.get_object(), **given.validated_data
        )
        return Response(s.ScaleSetSerializer(done).data)

    def club_sent(self, sent_id: UUID) -> Club | None:
        """The club that the scales are for."""
        return Club.objects.filter(pk=sent_id).first()

    club_from = "club"
