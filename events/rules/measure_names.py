"""Measures of the catalogue as words."""

EVERY = ""  # in place of a spot: at every one

# Where the catalogue's name of a length is not its slug with spaces.
NAMES = {
    "circumference": "roll-out",
    "seat-thread": "seat thread",
    "travel-used": "bump ring travel",
    "rear-bar": "frame bar to rear axle",
    "front-panel": "axle to frame panel",
    "front-lateral": "side to side",
    "rear-rod-upper": "rear upper rod",
    "rear-rod-lower": "rear lower rod",
    "front-rod-upper": "front upper rod",
    "front-rod-lower": "front lower rod",
}


def spoken(measure: str, spot: str) -> str:
    """A measure and spot as words."""
    name = NAMES.get(measure, measure.replace("-", " ").replace("_", " "))
    return name if spot in (EVERY, "car") else f"{name} {spot}"


def headed(measure: str, spot: str) -> str:
    """The same at the head of a sentence."""
    name = spoken(measure, spot)
    return name[:1].upper() + name[1:]
