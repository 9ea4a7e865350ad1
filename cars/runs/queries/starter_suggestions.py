"""The starter table: common practice in our own words, from fixtures/suggestions.json."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from cars.models import Suggestion
from cars.runs.queries.suggestions import FELT
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse

FILE = Path(__file__).resolve().parent.parent.parent.parent / "fixtures" / "suggestions.json"


def starter_suggestions() -> list[Suggestion]:
    """Its rows, unsaved and of no table yet, in order."""
    said = _read()
    return [
        _suggestion(place, row, said["cautions"])
        for place, row in enumerate(said["suggestions"], start=1)
    ]


@cache
def _read() -> dict[str, Any]:
    read: dict[str, Any] = json.loads(FILE.read_text())
    return read


def _suggestion(place: int, row: dict[str, Any], cautions: dict[str, str]) -> Suggestion:
    adjuster, spot, amount, unit = row["do"]
    return Suggestion(
        **{name: row.get(name, "") for name in FELT},
        adjuster=adjuster,
        spot=spot,
        amount=parse(amount, Kind.TURNS).value,
        unit=unit,
        why=row["why"],
        minutes=row["minutes"],
        caution=cautions[row["caution"]],
        source=Suggestion.Source.COMMON_PRACTICE,
        position=place,
    )
