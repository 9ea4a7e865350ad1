"""How little and how much each thing that is typed can be: one table for pages, API and models.

All of it is common practice, no source: so wide that no sane car, tool or track leaves it, and so
narrow that a wrong unit or a slipped digit does. Measures of a sheet have theirs in
fixtures/catalogue.json, parameters of rules beside them in events/rules.
"""

from decimal import Decimal

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits, parse


def _between(kind: Kind, low: str, high: str, name: str) -> QuantityLimits:
    return QuantityLimits(parse(low, kind).value, parse(high, kind).value, name)


# A chassis.
WHEELBASE = _between(Kind.LENGTH, "30 in", "130 in", "a wheelbase")
TRACK_WIDTH = _between(Kind.LENGTH, "20 in", "80 in", "a track width")
SPRING_PLACE = _between(Kind.LENGTH, "-40 in", "40 in", "a spring's place from the middle")
SPRING_RATE = _between(Kind.SPRING_RATE, "10 lb/in", "1500 lb/in", "a spring rate")
SEAT_TRAVEL = _between(Kind.LENGTH, "0.3 mm", "10 mm", "the seat's travel for one turn")
TYRE_RATE = _between(Kind.SPRING_RATE, "50 lb/in", "6000 lb/in", "a tyre rate")
ALONG_THE_CAR = _between(Kind.LENGTH, "-40 in", "170 in", "a place along the car")
ACROSS_THE_CAR = _between(Kind.LENGTH, "-50 in", "50 in", "a place across the car")

# Ballast, parts, weights.
CAPACITY = _between(Kind.MASS, "0.1 lb", "400 lb", "what a mount carries")
PIECE = _between(Kind.MASS, "0.05 lb", "200 lb", "a piece of ballast")
PAD = _between(Kind.MASS, "0 lb", "2000 lb", "what stands on one pad")
CAR = _between(Kind.MASS, "20 kg", "800 kg", "a car's weight")
MARGIN = _between(Kind.MASS, "0 lb", "100 lb", "a margin")
HEAVIER = _between(Kind.MASS, "-100 lb", "100 lb", "a difference at the weighing")
DOUBT = _between(Kind.MASS, "0 lb", "50 lb", "the doubt between two scales")
DIVISION = _between(Kind.MASS, "1 g", "10 kg", "the step of a display")
REFERENCE = _between(Kind.MASS, "10 g", "1000 kg", "a reference mass")
EXTRA = _between(Kind.MASS, "0 g", "10 kg", "the extra mass")
DRIVER = _between(Kind.MASS, "10 kg", "160 kg", "a driver's weight")
FUEL = _between(Kind.VOLUME, "0 gal", "10 gal", "the fuel on board")

# Work on the car.
ROD_PIN = _between(Kind.LENGTH, "0.25 in", "20 in", "a pin's distance from the axle")
ROD_ANGLE = _between(Kind.ANGLE, "-45°", "45°", "a rod's angle")
LENGTH_ON_A_CAR = _between(Kind.LENGTH, "0 in", "200 in", "a length on a car")

# Gearing and springs.
ROLL_OUT = _between(Kind.LENGTH, "20 in", "70 in", "a roll-out")
SHAFTS = _between(Kind.LENGTH, "2 in", "60 in", "the distance between two shafts")
CHAIN_PITCH = _between(Kind.LENGTH, "4 mm", "1 in", "the pitch of a chain")
GROUND_SPEED = _between(Kind.SPEED, "5 mph", "150 mph", "a speed on the track")
WIRE = _between(Kind.LENGTH, "1 mm", "1 in", "a spring's wire")
COIL = _between(Kind.LENGTH, "10 mm", "8 in", "a coil's mean diameter")

# A track.
CORNER_RADIUS = _between(Kind.LENGTH, "1 m", "500 m", "a corner radius")
LAP = _between(Kind.LENGTH, "10 m", "10 km", "a lap")
BANKING = _between(Kind.ANGLE, "-10°", "60°", "banking")

# The air, as far as the formula of its density is stated (cars/mechanics/air.py).
AIR = _between(Kind.TEMPERATURE, "-10 °C", "50 °C", "the air's temperature")
AIR_PRESSURE = _between(Kind.PRESSURE, "600 hPa", "1100 hPa", "the air's pressure")
HUMIDITY = _between(Kind.PERCENT, "0 %", "100 %", "humidity")
ALTITUDE = _between(Kind.LENGTH, "-1000 m", "11 km", "an altitude")

# Spring travel for axle travel, a plain ratio.
MOTION_RATIO = QuantityLimits(Decimal("0.1"), Decimal("2.5"), "this ratio")
MOST_WHEELBASES_APART = 150.0  # mm: some six times the lead that is usual

# The most that one change is of each unit it is noted in.
MOST_CHANGED = {
    **{"turn": Decimal(40), "click": Decimal(60), "tooth": Decimal(60), "1": Decimal(40)},
    **{"in": Decimal(10), "mm": Decimal(254), "deg": Decimal(45), "psi": Decimal(50)},
    **{"lb": Decimal(200), "kg": Decimal(90), "lb/in": Decimal(500), "N/mm": Decimal(90)},
    **{"hole": Decimal(20)},
}
