"""A whole sheet's worth of figures, all of them sensible."""

from cars.models import Measure

HAND = {
    "pressure.LF": "9",
    "pressure.RF": "14 psi",
    "pressure.LR": "8.5",
    "pressure.RR": "14",
    "circumference.LF": "33 1/2",
    "circumference.RF": "34",
    "circumference.LR": "33 3/4",
    "circumference.RR": "35 3/4",
    "wheelbase.left": "46 1/4",
    "wheelbase.right": "46 3/4",
    "ride-height.LF": "2 1/4",
    "ride-height.RF": "2 3/8",
    "ride-height.LR": "2 5/16",
    "ride-height.RR": "2 5/8",
    "weight.LF": "74.5",
    "weight.RF": "60",
    "weight.LR": "88",
    "weight.RR": "62.5",
    "camber.left": "1.5",
    "camber.right": "-3",
    "toe.front": "1/16",
    "hand-angle.car": "5",
    "track-width.front": "34 1/2",
    "track-width.rear": "34",
    "teeth-driving.car": "12",
    "teeth-driven.car": "62",
    "damper-gas.LF": "50",
}
USUAL = {
    "length": "10 1/2",
    "angle": "5",
    "pressure": "50",
    "spring_rate": "110",
    "mass": "20",
    "count": "20",
}
NARROW = {"seat-thread": "2 1/8", "travel-used": "1 3/4", "chain-slack": "1/2"}
SQUARE = {"rear-square": "90", "front-square": "89.4"}


def everything(measures: dict[str, Measure]) -> dict[str, str]:
    """Text for every box that people fill in: 84 of them."""
    typed = {}
    for measure in measures.values():
        if measure.taken == "derived":
            continue
        for spot in measure.spots:
            name = f"{measure.pk}.{spot}"
            text = {"words": "2nd hole", "done": "done"}.get(measure.taken, "")
            text = text or NARROW.get(measure.pk) or SQUARE.get(measure.pk) or ""
            typed[name] = HAND.get(name) or text or USUAL[measure.kind]
    return typed
