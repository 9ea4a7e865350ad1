"""What imports bring to a car's page."""

from cars.garage.presenters.car_links import CarLink
from teams.permissions import check_can_crew

CAR_LINKS = [CarLink("Bring in a file", "car-imports", check_can_crew)]
