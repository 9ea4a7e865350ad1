"""Addresses of the API of clubs, teams and drivers."""

from rest_framework.routers import SimpleRouter

from teams.api import clubs, teams

router = SimpleRouter(trailing_slash=False)
router.register("clubs", clubs.Clubs, basename="api-club")
router.register("club-members", clubs.ClubMembers, basename="api-club-member")
router.register("invitations", clubs.Invitations, basename="api-invitation")
router.register("tracks", clubs.Tracks, basename="api-track")
router.register("race-classes", clubs.RaceClasses, basename="api-race-class")
router.register("teams", teams.Teams, basename="api-team")
router.register("team-members", teams.TeamMembers, basename="api-team-member")
router.register("coach-links", teams.CoachLinks, basename="api-coach-link")
router.register("drivers", teams.Drivers, basename="api-driver")
router.register("driver-weights", teams.DriverWeights, basename="api-driver-weight")

urlpatterns = router.urls
