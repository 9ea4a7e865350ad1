"""What the history brings to a car's page."""

from cars.garage.presenters.car_links import CarLink

CAR_LINKS = [
    CarLink("Back to a track", "back-to-track"),
    CarLink("History", "car-history"),
    CarLink("Compare", "car-compare"),
    CarLink("Advice", "car-advice"),
]
