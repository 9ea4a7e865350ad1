"""What runs bring to a car's page."""

from cars.garage.presenters.car_links import CarLink

CAR_LINKS = [
    CarLink("At the track", "car-track"),
    CarLink("What to try", "what-to-try"),
    CarLink("Runs", "car-runs"),
]
