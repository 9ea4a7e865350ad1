"""What imports bring to a car's page."""

from cars.garage.presenters.car_links import CarLink

CAR_LINKS = [CarLink("Bring in a file", "car-imports")]
