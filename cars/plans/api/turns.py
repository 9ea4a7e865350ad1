"""The API of plans: what to turn, what if, accepting, what a car has taught, what moved."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import Listed
from cars.catalogue.queries import catalogue
from cars.figures.formatting import format_verdict
from cars.figures.judgement import FigureOutcome, Standard
from cars.lookups import car_or_404, sheet_or_404
from cars.mechanics import CORNER_NAMES, BadInput, Corners
from cars.mechanics.linear_response import Prediction
from cars.mechanics.turnplan import TurnPlan
from cars.models import CalibrationReset, Plan
from cars.plans.actions.turns import accept_plan, reset_calibration
from cars.plans.api import serializers as s
from cars.plans.presenters.display_context import plan_display_context
from cars.plans.presenters.one_turn import format_learned, format_one_turn
from cars.plans.presenters.predictions import Predicted, predicted_figures, reached
from cars.plans.presenters.targets import plan_source_name
from cars.plans.presenters.turns import turn_notes
from cars.plans.queries.calibration import (
    Calibration,
    PlanPage,
    TurnPlanOutcome,
    calibration_of,
    plan_page,
)
from cars.plans.queries.drift import car_drift
from cars.plans.queries.plan_params import sent_turns, wanted_cross
from cars.plans.queries.turns import TurnTable, predict_turns, turn_plans, turn_table
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.site.list_pages import before_of
from teams.api.base import ListsOfTeams, NotesReaders

TARGETS = [
    OpenApiParameter(
        "targets",
        str,
        description="Where the targets come from: `sheet`, as the sheet was opened; `own`, the "
        "team's own; or the id of a target sheet.",
    ),
    OpenApiParameter("cross", float, description="The cross wanted, percent."),
]


def corners_json(values: Sequence[float] | None) -> dict[str, float] | None:
    """Four figures under their corners."""
    if values is None:
        return None
    return {name: float(value) for name, value in zip(CORNER_NAMES, values, strict=True)}


def prediction_json(table: TurnTable, what: Prediction) -> dict[str, Any]:
    """A prediction as the API writes it, judged as the pages judge it."""
    figures = predicted_figures(plan_display_context(table), what)
    return {
        "turns": corners_json(what.turns),
        "weights": corners_json(what.loads),
        "u_weights": corners_json(what.u_loads),
        "heights": corners_json(what.heights),
        "u_heights": corners_json(what.u_heights),
        "cross": what.cross,
        "u_cross": what.u_cross,
        "left": what.left,
        "u_left": what.u_left,
        "rear": what.rear,
        "u_rear": what.u_rear,
        "judged": [_judged_json(table, figure) for figure in figures.values() if figure.standard],
        "lifted": list(what.lifted),
        "beyond_thread": list(what.beyond),
    }


def _judged_json(table: TurnTable, figure: Predicted) -> dict[str, Any]:
    measure = table.on_sheet.known.measures[figure.key.measure]
    wanted = figure.standard or Standard(figure.value)
    return {
        "box": str(figure.key),
        "value": figure.value,
        "reach": figure.reach,
        "target": wanted.target,
        "tolerance": wanted.tolerance,
        "outcome": figure.judgement.outcome,
        "text": format_verdict(measure, figure.judgement, table.on_sheet.units)[2],
    }


def _plan_json(table: TurnTable, plan: TurnPlan) -> dict[str, Any]:
    what = predict_turns(table, plan.turns)
    to = reached(table, plan, predicted_figures(plan_display_context(table), what))
    return {
        "most_corners": plan.allowed,
        "reached": to.outcome is FigureOutcome.ON_TARGET,
        "outcome": to.outcome,
        "why_not": to.why_not,
        "miss": plan.miss,
        "order": [{"corner": move.corner, "turns": move.turns} for move in plan.moves],
        "prediction": prediction_json(table, what),
    }


def _table(request: Request, pk: UUID) -> TurnTable:
    sent, sheet = request.query_params.dict(), sheet_or_404(request, pk)
    return turn_table(
        sheet, asking(request), targets_from=sent.get("targets", ""), cross=wanted_cross(sent)
    )


class SheetTurnPlans(APIView):
    """What to turn at the spring seats."""

    @extend_schema(responses=s.TurnPlansSerializer, parameters=TARGETS)
    def get(self, request: Request, pk: UUID) -> Response:
        """The best plan with one, two, three and four corners."""
        table = _table(request, pk)
        source = table.on_sheet.targets.source
        return Response(
            {
                "missing": table.missing,
                "notes": turn_notes(table),
                "target_source": plan_source_name(source) if source else "",
                "seen": table.seen,
                "outcome": table.outcome,
                "plans": [_plan_json(table, plan) for plan in turn_plans(table)],
            }
        )


class SheetWhatIf(APIView):
    """What turns of one's own would give."""

    @extend_schema(
        responses=s.PredictionSerializer,
        parameters=[
            OpenApiParameter(
                "turns", str, required=True, description="LF, RF, LR, RR: `0.5,-0.5,0,0`."
            )
        ],
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """The prediction; 409 while something is missing for one."""
        table = _table(request, pk)
        turns = sent_turns(request.query_params.dict())
        if not table.ready:
            raise WrongState(" ".join(table.missing))
        try:
            what = predict_turns(table, Corners.of(float(turn) for turn in turns))
        except BadInput as refused:
            raise Invalid("turns", str(refused)) from refused
        return Response(prediction_json(table, what))


@extend_schema_view(create=creates(s.PlanSerializer, s.PlanAcceptSerializer))
class Plans(ListsOfTeams, NotesReaders, CreateOnceMixin, Listed):
    """Accepted turn plans. Accepting notes the changes; no reading is written."""

    queryset = Plan.objects.order_by("-id")
    serializer_class = s.PlanSerializer
    create_serializer_class = s.PlanAcceptSerializer
    filterset_fields = ("sheet", "team")

    def make(self, *, row_id: UUID, **given: Any) -> Plan:
        """Accepts the turns."""
        turns = [given["turns"][corner] for corner in CORNER_NAMES]
        return accept_plan(
            by=self.by,
            sheet=given["sheet"],
            turns=turns,
            seen=given["seen"],
            plan_id=row_id,
        )


def _outcome_json(plan: Plan, one: TurnPlanOutcome) -> dict[str, Any]:
    weighed = one.weighed.loads
    return {
        "plan": plan.pk,
        "turns": corners_json(one.weighed.turns),
        "predicted": corners_json(plan.loads),
        "weighed": corners_json(weighed),
        "predicted_cross": plan.cross,
        "u_cross": plan.u_cross,
        "weighed_cross": (weighed.rf + weighed.lr) / sum(weighed) if weighed else None,
        "learned": one.is_learned,
        "probability_good": one.fit.probability_good if one.fit else None,
    }


def calibration_json(calibration: Calibration, page: PlanPage) -> dict[str, Any]:
    """A calibration as the API writes it, with some of the plans it was learned from."""
    known = calibration.calibrated
    return {
        "words": format_learned(calibration),
        "learned": calibration.learned,
        "cross_within": calibration.within,
        "multipliers": known.multipliers._asdict() if known else {},
        "u_log": known.u_log._asdict() if known else {},
        "one_turn": [
            {
                "corner": one.corner,
                "cross": one.cross,
                "u_cross": one.u_cross,
                "worked_out": one.worked_out,
                "u_worked_out": one.u_worked_out,
                "text": format_one_turn(one, learned=bool(calibration.learned)),
            }
            for one in calibration.one_turn
        ],
        "trouble": calibration.trouble,
        "reset_at": calibration.reset.created_at if calibration.reset else None,
        "reset_reason": calibration.reset.reason if calibration.reset else "",
        "outcomes": [_outcome_json(*each) for each in page.plans],
        "earlier": page.earlier,
    }


class CarCalibration(APIView):
    """What one turn does, as the scales have shown on this car."""

    @extend_schema(
        responses=s.CalibrationSerializer,
        parameters=[
            OpenApiParameter("before", UUID, description="A plan: the outcomes of those before it.")
        ],
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Since its last reset; the outcomes of the newest plans, the newest first."""
        calibration = calibration_of(car_or_404(request, pk), catalogue())
        before = before_of(request.query_params)
        return Response(calibration_json(calibration, plan_page(calibration.outcomes, before)))


@extend_schema_view(
    create=creates(s.CalibrationResetSerializer, s.CalibrationResetCreateSerializer)
)
class CalibrationResets(ListsOfTeams, CreateOnceMixin, Listed):
    """When and why what the scales had shown was forgotten."""

    queryset = CalibrationReset.objects.order_by("-id")
    serializer_class = s.CalibrationResetSerializer
    create_serializer_class = s.CalibrationResetCreateSerializer
    filterset_fields = ("car",)

    def make(self, *, row_id: UUID, **given: Any) -> CalibrationReset:
        """Learns the car anew."""
        return reset_calibration(by=self.by, reset_id=row_id, **given)


class CarDriftView(APIView):
    """Drift."""

    @extend_schema(responses=s.CarDriftSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """From how it was set to how it was found next, weekend by weekend."""
        car, known = car_or_404(request, pk), catalogue()
        shown = known, asking(request).units(car.team.club.units())
        drift = car_drift(car, known)
        return Response(s.CarDriftSerializer(drift, context={"shown": shown}).data)
