"""A handover as each of its two chiefs reads it: by the clock and in units of their own club."""

from cars.handover.presenters.package import PackageLines, package_lines
from cars.models import Handover
from clubsetup.access.models import User
from teams.models import Team


def own_side(handover: Handover) -> Team:
    """The team of the handover that whoever is looking reads: the giver's, or the receiver's."""
    sides = {handover.team_id, handover.to_team_id} - {None}
    teams = Team.objects.select_related("club").in_bulk(sides)
    return teams.get(handover.team_id) or next(iter(teams.values()))


def package_of(handover: Handover, by: User) -> PackageLines:
    """All that goes or went along, as text."""
    club = own_side(handover).club
    return package_lines(handover.package, by.units(club.units()), club.zone())
