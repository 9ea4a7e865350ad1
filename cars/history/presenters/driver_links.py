"""What the history brings to a driver's page."""

from teams.presenters.driver_links import DriverLink

DRIVER_LINKS = [
    DriverLink("Progress", "driver-progress"),
    DriverLink("Over seasons", "driver-seasons"),
]
