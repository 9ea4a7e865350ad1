"""What a handover brings to a car's page."""

from cars.garage.presenters.car_links import CarLink

CAR_LINKS = [CarLink("Handover", "car-handed")]
