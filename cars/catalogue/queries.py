"""The order of work: steps with their measures."""

import time
from dataclasses import dataclass
from functools import cached_property, lru_cache

from cars.models import Measure, Step

CATALOGUE_KEPT = 60  # seconds


@dataclass(frozen=True)
class Catalogue:
    """All steps in order, and all measures by slug in the order of the steps."""

    steps: list[Step]
    measures: dict[str, Measure]

    def step(self, slug: str) -> Step:
        """The step of that name. Raises KeyError."""
        for step in self.steps:
            if step.pk == slug:
                return step
        raise KeyError(slug)

    def of_step(self, step: Step) -> list[Measure]:
        """The step's measures in order."""
        return self._by_step.get(step.pk, [])

    @cached_property
    def _by_step(self) -> dict[str, list[Measure]]:
        by_step: dict[str, list[Measure]] = {}
        for measure in self.measures.values():
            by_step.setdefault(measure.step_id, []).append(measure)
        return by_step


def catalogue() -> Catalogue:
    """The catalogue in two queries; each measure's `step` is the one in `steps`."""
    steps = {step.pk: step for step in Step.objects.all()}
    measures = {}
    for measure in Measure.objects.order_by("step__order", "order"):
        measure.step = steps[measure.step_id]
        measures[measure.pk] = measure
    return Catalogue(list(steps.values()), measures)


def cached_catalogue() -> Catalogue:
    """The catalogue, read anew every minute: it changes with a new release only."""
    return _catalogue_in(int(time.monotonic() // CATALOGUE_KEPT))


@lru_cache(maxsize=1)
def _catalogue_in(_minute: int) -> Catalogue:
    return catalogue()
