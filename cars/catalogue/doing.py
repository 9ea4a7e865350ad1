"""A step of the order of work as something to do."""

from cars.models import Step

# Of other steps their name is what is measured.
DOING = {
    "scales": "Weigh the car",
    "ballast": "Check the ballast",
    "gearing": "Check the gearing",
    "last-check": "Do the last check",
}


def doing(step: Step) -> str:
    """'Measure ride heights': what a button is called that leads to the step."""
    return DOING.get(step.pk) or f"Measure {step.name[:1].lower()}{step.name[1:]}"
