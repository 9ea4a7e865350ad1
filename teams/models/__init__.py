from teams.models.club import Club, ClubMember, ClubRole
from teams.models.driver import Driver, DriverBirth, DriverWeight
from teams.models.invitation import Invitation
from teams.models.team import CoachLink, Team, TeamMember, TeamRole
from teams.models.track import RaceClass, Surface, Track

__all__ = [
    "Club",
    "ClubMember",
    "ClubRole",
    "CoachLink",
    "Driver",
    "DriverBirth",
    "DriverWeight",
    "Invitation",
    "RaceClass",
    "Surface",
    "Team",
    "TeamMember",
    "TeamRole",
    "Track",
]
