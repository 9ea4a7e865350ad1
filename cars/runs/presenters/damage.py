"""What a hit makes due before the next run. Common practice, no source."""

from collections.abc import Iterable

from cars.catalogue.queries import Catalogue
from cars.models import RunDetails

AXLES = {
    "front": ("front-axle", "kingpin", "steering"),
    "rear": ("rear-axle",),
}
# A hit anywhere may have moved these.
ALWAYS = ("lead", "ride-heights", "scales")
FRONT, REAR = {"LF", "RF", "front"}, {"LR", "RR", "rear"}


def steps_due(spots: Iterable[str], known: Catalogue) -> list[str]:
    """The names of the steps to check again, in the order of work; of a whole side both axles."""
    hit = set(spots)
    axles = [
        axle
        for axle, corners in (("front", FRONT), ("rear", REAR))
        if hit & corners or not hit & (FRONT | REAR)
    ]
    due = {step for axle in axles for step in AXLES[axle]} | set(ALWAYS)
    return [step.name for step in known.steps if step.pk in due]


def damage_words(details: RunDetails) -> str:
    """'Hit the wall, RF'."""
    return ", ".join([details.damage[:1].upper() + details.damage[1:], *details.damage_spots])
