"""The API of what helps beside the readings: rods, block marks, lead and stagger, ballast."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.lookups import sheet_or_404
from cars.mechanics import MechanicsError
from cars.mechanics.ballastplan import BallastPlan
from cars.models import BallastPiece, Change, Sheet
from cars.plans.actions.axles import RodTurn, accept_marks, accept_rods
from cars.plans.actions.ballast import fit_ballast, take_back_ballast
from cars.plans.api import tool_serializers as s
from cars.plans.api.turns import corners_json
from cars.plans.presenters.ballast import ballast_cards
from cars.plans.queries import block_marks, lead, rods
from cars.plans.queries.ballast import Added, Stock, ballast_plans, ballast_seen, lacking, stock_of
from cars.plans.queries.sheet_figures import SheetFigures, sheet_figures
from cars.sheets.api.ballast_serializers import PieceSerializer
from cars.sheets.api.serializers import ChangeSerializer
from cars.sheets.queries.sheets import set_sheet_of
from clubsetup.access.api.idempotency import answers_once, by_id, made_once
from clubsetup.access.api.me import asking
from clubsetup.quantities.units import Units

S = serializers.Serializer[Any]


def _on_sheet(request: Request, pk: UUID) -> SheetFigures:
    return sheet_figures(sheet_or_404(request, pk), asking(request))


def read_address(kind: type[S], request: Request, units: Units) -> Any:
    """What the address asks, in the units of the person asking."""
    sent = kind(data=request.query_params.dict(), context={"units": units})
    sent.is_valid(raise_exception=True)
    return sent


class SheetRods(APIView):
    """The rear radius rods."""

    @extend_schema(responses=s.RodsSerializer, parameters=[s.RodsAskedSerializer])
    def get(self, request: Request, pk: UUID) -> Response:
        """Turns that bring the rear axle square and its carriers right."""
        on_sheet = _on_sheet(request, pk)
        given = read_address(s.RodsAskedSerializer, request, on_sheet.units).validated_data
        missing = rods.lacking(on_sheet)
        answer: dict[str, Any] = {
            "missing": missing,
            "trouble": "",
            "ends": [],
            "seen": rods.seen(on_sheet),
        }
        if not missing:
            answer |= _ends(on_sheet, given)
        return Response(s.RodsSerializer(answer).data)

    @extend_schema(
        request=s.RodsTurnedSerializer, responses=answers_once(ChangeSerializer(many=True))
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Notes rods as turned, as changes of the sheet: bar and rotation are then asked again.

        Answers with all turns of rear rods that are noted there.
        """
        sheet, by = sheet_or_404(request, pk), asking(request)
        sent = s.RodsTurnedSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        given = sent.validated_data
        turns = [RodTurn(**one) for one in given["turns"]]

        def turn(_: UUID) -> Sheet:
            made = accept_rods(by=by, sheet=sheet, turns=turns, seen=given["seen"])
            return made[0].sheet

        noted_on, code = made_once(request, given.get("id"), turn, lambda _: _noted_on(sheet))
        rows = Change.objects.current().filter(sheet=noted_on, adjuster__startswith="rear-rod-")
        return Response(ChangeSerializer(rows, many=True).data, code)


def _noted_on(sheet: Sheet) -> Sheet:
    """Where what was turned on a sheet stands: the one as set, for a car as found."""
    set_sheet = set_sheet_of(sheet) if sheet.role == Sheet.Role.FOUND else None
    return set_sheet or sheet


def _ends(on_sheet: SheetFigures, given: dict[str, Any]) -> dict[str, Any]:
    try:
        upper, lower, step = rods.rods_of(
            given["threads"],
            s.number(given["upper"]),
            s.number(given["lower"]),
            both_ends=given["both_ends"],
            behind=given["frame_is"] == "behind",
            angle_upper=s.number(given["angle_upper"]),
            angle_lower=s.number(given["angle_lower"]),
        )
        return {"ends": rods.end_plans(on_sheet, upper, lower, step=step)}
    except MechanicsError as refused:
        return {"trouble": str(refused)}


class SheetMarks(APIView):
    """The kingpin's eccentric blocks."""

    @extend_schema(responses=s.SideMarksSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """Marks to try next on each side, from what this car's own marks gave."""
        sides = block_marks.side_marks(_on_sheet(request, pk))
        return Response(s.SideMarksSerializer(sides, many=True).data)

    @extend_schema(request=s.MarksSetSerializer, responses=answers_once(ChangeSerializer))
    def post(self, request: Request, pk: UUID) -> Response:
        """Notes one side's blocks as set to marks: camber and caster are then asked again."""
        sheet, by = sheet_or_404(request, pk), asking(request)
        sent = s.MarksSetSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        given = dict(sent.validated_data)
        change, code = made_once(
            request,
            given.pop("id", None),
            lambda chosen: accept_marks(by=by, sheet=sheet, change_id=chosen, **given),
            by_id(Change),
        )
        return Response(ChangeSerializer(change).data, code)


class SheetLead(APIView):
    """Lead and stagger."""

    @extend_schema(responses=s.LeadSerializer, parameters=[s.LeadAskedSerializer])
    def get(self, request: Request, pk: UUID) -> Response:
        """Against the track's corner, and the hands' angle; 400 where nobody says the radius."""
        on_sheet = _on_sheet(request, pk)
        given = read_address(s.LeadAskedSerializer, request, on_sheet.units).validated_data
        answer: dict[str, Any] = {"missing": lead.lacking(on_sheet), "trouble": "", "figures": None}
        radius = lead.radius_for(on_sheet.sheet, given["radius"])
        chassis, _ = on_sheet.chassis
        if chassis is not None:
            try:
                answer["figures"] = lead.lead_figures(on_sheet, chassis, radius, given["ratio"])
            except MechanicsError as refused:
                answer["trouble"] = str(refused)
        return Response(s.LeadSerializer(answer).data)


class SheetBallastPlans(APIView):
    """What to add."""

    @extend_schema(responses=s.BallastPlansSerializer, parameters=[s.WeighingAskedSerializer])
    def get(self, request: Request, pk: UUID) -> Response:
        """Which of the team's pieces to fit, move or take off for the weighing that decides."""
        on_sheet = _on_sheet(request, pk)
        asked = read_address(s.WeighingAskedSerializer, request, on_sheet.units)
        weighing = asked.weighing
        stock = stock_of(on_sheet, without=asked.without_pieces)
        missing, trouble, added = lacking(on_sheet, stock), "", Added([])
        if not missing:
            try:
                added = ballast_plans(on_sheet, stock, weighing)
            except MechanicsError as refused:
                trouble = str(refused)
        answer = {
            "missing": missing,
            "trouble": trouble,
            "short": added.short,
            "seen": ballast_seen(on_sheet.sheet),
            "plans": [_plan(on_sheet, stock, plan, weighing.driver) for plan in added.plans],
        }
        return Response(s.BallastPlansSerializer(answer).data)


def _plan(on_sheet: SheetFigures, stock: Stock, plan: BallastPlan, driver: float) -> dict[str, Any]:
    card = ballast_cards(on_sheet, stock, [plan], driver)[0]
    return {
        "moves": [
            {
                "piece": stock.piece(each.piece),
                "mount": stock.mount(each.after),
                "text": text,
                "marked_for_another": stock.marked_elsewhere.get(stock.piece(each.piece), ""),
            }
            for each, text in zip(plan.handling, card.todo, strict=True)
        ],
        "weight": plan.weight + driver,
        "u_weight": plan.u_weight,
        "over": plan.over,
        "under": plan.under,
        "legal": card.is_legal,
        "weights": corners_json(plan.loads),
        "shares": [
            {"name": name, "share": getattr(plan.now, name), "u": getattr(plan.now, f"u_{name}")}
            for name in ("left", "rear", "cross")
        ],
        "height_change": corners_json(plan.height_change),
        "unusable": plan.unusable,
        "proven": plan.proven,
    }


class SheetBallast(APIView):
    """Ballast that was fitted, moved or taken off."""

    @extend_schema(
        request=s.BallastMovesSerializer, responses=answers_once(PieceSerializer(many=True))
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Notes it as changes of the sheet, so that weights and heights are asked for again.

        Check every bolt: ballast that comes loose hurts people.
        """
        sheet, by = sheet_or_404(request, pk), asking(request)
        given = s.BallastMovesSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        pairs = [(one["piece"], one["mount"]) for one in given.validated_data["moves"]]
        moves = [(piece.pk, mount.pk if mount else None) for piece, mount in pairs]

        def fit(_: UUID) -> Sheet:
            confirmed = given.validated_data["confirmed"]
            seen = given.validated_data["seen"]
            fit_ballast(by=by, sheet=sheet, moves=moves, seen=seen, confirmed=confirmed)
            return sheet

        _, code = made_once(request, given.validated_data.get("id"), fit, lambda _: sheet)
        rows = BallastPiece.objects.filter(pk__in=[piece for piece, _ in moves])
        return Response(PieceSerializer(rows, many=True).data, code)


class SheetBallastTakenBack(APIView):
    """Ballast that was noted and never fitted."""

    @extend_schema(request=None, responses=PieceSerializer(many=True))
    def post(self, request: Request, pk: UUID) -> Response:
        """Takes back what was noted last: pieces, ballast on the car and what was to be read again
        are as they were. 409 where the car was read with it on since, or a piece was moved.
        """
        rows = take_back_ballast(by=asking(request), sheet=sheet_or_404(request, pk))
        return Response(PieceSerializer(rows, many=True).data)
