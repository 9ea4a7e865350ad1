"""What to try, through the API."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import quantity_json
from cars.catalogue.keys import Key
from cars.lookups import car_or_404
from cars.runs.api.try_serializers import WhatToTrySerializer
from cars.runs.presenters.try_words import TryShown
from cars.runs.presenters.what_to_try import show_what_to_try
from cars.runs.queries.change_judges import RuleThen
from cars.runs.queries.felt_params import CHOICES, felt_of
from cars.runs.queries.try_this import TryThis
from cars.runs.queries.what_to_try import GoBack, WhatToTry, what_to_try
from clubsetup.access.api.me import asking

VERDICTS = {
    "faster": "faster",
    "slower": "slower",
    "no_difference": "no difference worth having",
    "cannot_tell": "cannot tell",
}


@extend_schema(
    summary="What to try on a car",
    description=(
        "The published suggestions of its team, its coaches and its club for what is felt, each "
        "with what it would make of this car as it stands: figures, the class's rules, tolerances, "
        "and what came of it in the team's own runs. Without parameters for what was felt in its "
        "newest run. Every figure is a prediction: weigh and measure again."
    ),
    parameters=[
        OpenApiParameter(name, str, enum=choices, description="Of a feel to look at instead.")
        for name, choices in CHOICES.items()
    ],
    responses=WhatToTrySerializer,
)
class WhatToTryView(APIView):
    """One answer; writes nothing."""

    def get(self, request: Request, pk: UUID) -> Response:
        """The suggestions in their order."""
        car, by = car_or_404(request, pk), asking(request)
        answer = what_to_try(car, by, felt_of(request.query_params))
        return Response(WhatToTrySerializer(_json(answer, by.units(car.team.club.units()))).data)


def _json(answer: WhatToTry, units: Any) -> dict[str, Any]:
    shown = show_what_to_try(answer, units)
    pull = answer.pull
    return {
        "felt": {name: getattr(answer.felt, name) for name in CHOICES},
        "run": answer.run.run.pk if answer.run else None,
        "sheet": answer.now.sheet.pk if answer.now else None,
        "go_back": _back_json(answer.go_back) if answer.go_back else None,
        "pull": {"places": list(pull.places), "balances": list(pull.balances)} if pull else None,
        "failing_now": [_rule_json(rule) for rule in answer.failing_now],
        "has_rules": answer.judge is not None,
        "order": shown.order,
        "suggestions": [_try_json(answer, each) for each in shown.tried],
        "empty": shown.empty,
    }


def _back_json(back: GoBack) -> dict[str, Any]:
    names = ("adjuster", "spot", "amount", "unit")
    return {
        "put_back": [change.pk for change in back.put_back],
        "make_again": [{name: kept[name] for name in names} for kept in back.make_again],
    }


def _rule_json(rule: RuleThen) -> dict[str, Any]:
    return {
        "rule": rule.words,
        "outcome": rule.outcome,
        "sentence": rule.sentence,
        "leaves": rule.leaves,
    }


def _try_json(answer: WhatToTry, shown: TryShown) -> dict[str, Any]:
    one, row = shown.one, shown.row
    names = ("adjuster", "spot", "amount", "unit", "why", "minutes", "caution", "source")
    wheels = one.predicted.wheels
    return {
        **{name: getattr(row, name) for name in (*names, "source_note")},
        "suggestions": [each.pk for each in one.rows],
        "table": row.table_id,
        "says": shown.says,
        "places": list(dict.fromkeys(each.place for each in one.rows)),
        "alone": one.alone,
        "is_opposed": one.is_opposed,
        "is_out": one.is_out,
        "out": shown.out,
        "legal": shown.legal,
        "rules": [_rule_json(rule) for rule in one.rules],
        "moved": [_moved_json(answer, one, key) for key in one.predicted.moved],
        "read_again": list(one.predicted.again),
        "missing": one.predicted.missing,
        "steer_was_deg": wheels.was if wheels else None,
        "steer_then_deg": wheels.then if wheels else None,
        "notes": shown.notes,
        "tried": {
            "count": one.tries.count,
            **{name: one.tries.verdicts.get(verdict, 0) for name, verdict in VERDICTS.items()},  # type: ignore[call-overload]
        },
    }


def _moved_json(answer: WhatToTry, one: TryThis, key: Key) -> dict[str, Any]:
    assert answer.now is not None  # noqa: S101 (there are figures)
    kind = answer.now.table.on_sheet.known.measures[key.measure].kind
    box = one.predicted.moved[key]
    return {
        "box": str(key),
        "quantity": quantity_json(box.value, kind, ""),
        "was": quantity_json(box.was, kind, ""),
        "u": f"{box.u.normalize():f}",
    }
