"""A run that was ticked, as it goes along: never what the driver said unless that is ticked too."""

from typing import Any

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.handover.queries.goods import BALLAST_CHANGES, WITH_DRIVER, Goods, figure, plain
from cars.handover.queries.ticks import details_of, felt, of_run
from cars.models import Feel, Run, RunDetails

FELT = ("entry", "middle", "exit", "hands", "steering")


def package_of_run(
    run: Run, goods: Goods, ticks: frozenset[str], known: Catalogue
) -> dict[str, Any]:
    """The run with its laps, what the handler saw, and what was ticked of it."""
    hung: Any = run
    content: dict[str, Any] = {
        "source": str(run.pk),
        "sheet": str(run.sheet_id) if run.sheet_id else None,
        "ran_at": run.ran_at.isoformat(),
        "car_state": _state(run, known),
        **_details(details_of(run)),
        "seen": _feel(felt(run, Feel.SaidBy.HANDLER)),
        "laps": next((_laps(row) for row in hung.timed), None),
        "readings": [figure(row) for row in hung.read],
    }
    for tick in of_run(run, goods):
        if tick.pk not in ticks:
            continue
        if tick.sort == "run-driver":
            content["driver"] = tick.says
        elif tick.sort == "run-said":
            content["said"] = _feel(felt(run, Feel.SaidBy.DRIVER))
        elif tick.sort != "run":
            content.setdefault("words", []).append(tick.says)
    return content


def _state(run: Run, known: Catalogue) -> dict[str, Any]:
    """The car as it stood, without what was weighed with the driver seated."""
    changes = run.car_state.get("changes", [])
    figures = run.car_state.get("figures", {})
    if not changes and not figures:
        return {}
    return {
        "changes": [one for one in changes if one["adjuster"] not in BALLAST_CHANGES],
        "figures": {
            name: value
            for name, value in figures.items()
            if (measure := Key.of(name).measure) in known.measures and measure not in WITH_DRIVER
        },
    }


def _details(row: RunDetails | None) -> dict[str, Any]:
    if row is None:
        return {"kind": RunDetails.Kind.PRACTICE, "surface": "", "track": None}
    return {
        "kind": row.kind,
        "track": {"id": str(row.track_id), "name": row.track.name} if row.track else None,
        "surface": row.surface,
        "surface_state": row.surface_state,
        "finish": row.finish,
        "fuel": {"value": plain(row.fuel), "typed": row.fuel_typed},
    }


def _feel(row: Feel | None) -> dict[str, str] | None:
    return None if row is None else {name: getattr(row, name) for name in FELT}


def _laps(row: Any) -> dict[str, Any]:
    times = [f"{time:f}" for time in row.times]
    return {"times": times, "marks": list(row.marks), "timed_by": row.timed_by}
