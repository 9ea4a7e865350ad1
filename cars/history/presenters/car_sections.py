"""Advice that stands, and parts near a limit, on the car's page and at steps of the bench."""

from uuid import UUID

from cars.bench.presenters.car_sections import CarSection
from cars.catalogue.queries import cached_catalogue
from cars.history.presenters.advice import advice_lines
from cars.history.presenters.parts_life import parts_near_limits
from cars.history.presenters.school_days import coming_school_days
from cars.history.queries.advice import standing_on
from cars.models import Advice, Step
from clubsetup.access.models import User


def standing_advice(car: UUID, team: UUID, viewer: User, step: Step | None) -> CarSection | None:
    """What is said of the whole car stands at the first step."""
    rows = standing_on(car, team)
    if step is not None:
        rows = [row for row in rows if _is_about(row, step)]
    if not rows:
        return None
    return CarSection("cars/history/_standing.html", advice_lines(rows, viewer))


def _is_about(row: Advice, step: Step) -> bool:
    if row.measure is None:
        return step.pk == cached_catalogue().steps[0].pk
    return row.measure.step_id == step.pk


CAR_SECTIONS = (standing_advice, parts_near_limits, coming_school_days)
