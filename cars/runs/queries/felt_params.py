"""What an address asks of what to try: how it felt, where that is not to be the newest run's."""

from collections.abc import Mapping

from cars.models import Feel, RunDetails
from cars.runs.queries.suggestions import PLACES, Felt
from clubsetup.access.errors import Invalid
from teams.models import Surface

CHOICES: dict[str, list[str]] = {
    **dict.fromkeys(PLACES, Feel.Balance.values),
    "hands": Feel.Hands.values,
    "steering": Feel.Steering.values,
    "surface": Surface.values,
    "surface_state": RunDetails.SurfaceState.values,
}


def felt_of(asked: Mapping[str, str]) -> Felt | None:
    """The feel that is asked for; None where none is, so that it is the newest run's.

    Raises Invalid, which names what is none of its choices.
    """
    given = {name: asked[name] for name in CHOICES if name in asked}
    for name, value in given.items():
        if value and value not in CHOICES[name]:
            raise Invalid(name, f"Choose one of these: {', '.join(CHOICES[name])}.")
    return Felt(**given) if given else None
