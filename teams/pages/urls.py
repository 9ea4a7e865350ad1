"""Addresses of the pages of clubs, teams and drivers."""

from django.urls import path

from teams.pages import account, clubs, drivers, links, people, start, teams, trail

urlpatterns = [
    path("", start.start, name="start"),
    path("me/trail", account.my_trail, name="my-trail"),
    path("me/erase", account.account_erase, name="account-erase"),
    path("join/<str:secret>", links.join, name="join"),
    path("join/<str:secret>/accept", links.join_accept, name="join-accept"),
    path("clubs/<uuid:pk>/", clubs.club, name="club"),
    path("clubs/<uuid:pk>/invite", clubs.club_invite, name="club-invite"),
    path("clubs/<uuid:pk>/units", clubs.club_units, name="club-units"),
    path("clubs/<uuid:pk>/tablets", clubs.club_idle, name="club-tablets"),
    path("clubs/<uuid:pk>/second-factor", people.club_second_factor, name="club-second-factor"),
    path("clubs/<uuid:pk>/people", people.club_people, name="club-people"),
    path("clubs/<uuid:pk>/people/<uuid:who>/end", people.member_end, name="member-end"),
    path("people/<uuid:pk>/code", people.person_code, name="person-code"),
    path("second-factor", people.second_factor, name="second-factor"),
    path("clubs/<uuid:pk>/time-zone", clubs.club_time_zone, name="club-time-zone"),
    path("clubs/<uuid:pk>/teams/new", clubs.team_add, name="team-new"),
    path("clubs/<uuid:pk>/tracks/new", clubs.track_add, name="track-new"),
    path("clubs/<uuid:pk>/classes/new", clubs.race_class_add, name="race-class-new"),
    path("clubs/<uuid:pk>/trail", trail.club_trail_page, name="club-trail"),
    path("club-members/<uuid:pk>/remove", clubs.club_member_remove, name="club-member-remove"),
    path("invitations/<uuid:pk>/withdraw", clubs.invitation_withdraw, name="invitation-withdraw"),
    path("tracks/<uuid:pk>/change", clubs.track_change, name="track-change"),
    path("teams/<uuid:pk>/", teams.team, name="team"),
    path("teams/<uuid:pk>/invite", teams.team_invite, name="team-invite"),
    path("teams/<uuid:pk>/coaches/new", teams.coach_add, name="coach-new"),
    path("teams/<uuid:pk>/drivers/new", drivers.driver_add, name="driver-new"),
    path("teams/<uuid:pk>/trail", trail.team_trail_page, name="team-trail"),
    path("team-members/<uuid:pk>/role", teams.team_member_role, name="team-member-role"),
    path("team-members/<uuid:pk>/remove", teams.team_member_remove, name="team-member-remove"),
    path("coach-links/<uuid:pk>/change", teams.coach_change, name="coach-change"),
    path("coach-links/<uuid:pk>/remove", teams.coach_remove, name="coach-remove"),
    path("drivers/<uuid:pk>/", drivers.driver, name="driver"),
    path("drivers/<uuid:pk>/name", drivers.driver_rename, name="driver-rename"),
    path("drivers/<uuid:pk>/erase", drivers.driver_erase, name="driver-erase"),
    path("drivers/<uuid:pk>/birth-date", drivers.driver_birth_date, name="driver-birth-date"),
    path("drivers/<uuid:pk>/weights/new", drivers.driver_weight_add, name="driver-weight-new"),
    path(
        "driver-weights/<uuid:pk>/remove", drivers.driver_weight_remove, name="driver-weight-remove"
    ),
]
