"""The order of work: steps with their measures."""

from dataclasses import dataclass

from cars.models import Measure, Step


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
        return [m for m in self.measures.values() if m.step_id == step.pk]


def catalogue() -> Catalogue:
    """The catalogue in two queries; each measure's `step` is the one in `steps`."""
    steps = {step.pk: step for step in Step.objects.all()}
    measures = {}
    for measure in Measure.objects.order_by("step__order", "order"):
        measure.step = steps[measure.step_id]
        measures[measure.pk] = measure
    return Catalogue(list(steps.values()), measures)
