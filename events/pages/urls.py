"""Addresses of the pages of events; those of a package of its own stand in it."""

from django.urls import include, path
from django.views.generic import RedirectView

from events.pages import (
    desk,
    draws,
    entering,
    listing,
    moves,
    results,
    rules,
    scale_checks,
    scales,
)

urlpatterns = [
    path("", include("events.records.pages.urls")),
    path("", include("events.precheck.pages.urls")),
    path("", include("events.printing.pages.urls")),
    path("events/", listing.events, name="events"),
    path("events/<uuid:pk>/", listing.event, name="event"),
    path("events/<uuid:pk>/classes/new", listing.class_add, name="event-class-new"),
    path("events/<uuid:pk>/desk", desk.desk_page, name="desk"),
    path("events/<uuid:pk>/draws", draws.draws, name="draws"),
    path("draws/<uuid:pk>/", draws.draw, name="draw"),
    path("events/<uuid:pk>/walk-in", entering.walk_in, name="walk-in"),
    path("events/<uuid:pk>/enter/<uuid:team>", entering.enter_car, name="enter"),
    path("events/<uuid:pk>/move/<slug:step>", moves.move, name="event-move"),
    path("event-classes/<uuid:pk>/remove", listing.class_remove, name="event-class-remove"),
    path("entries/<uuid:pk>/", desk.entry, name="entry"),
    path("entries/<uuid:pk>/weigh", desk.weigh_car, name="weigh"),
    path("entries/<uuid:pk>/ballast", desk.ballast, name="ballast-check"),
    path("entries/<uuid:pk>/not-on-car", desk.not_on_car, name="not-on-car"),
    path("entries/<uuid:pk>/measure", desk.measure, name="measure"),
    path("entries/<uuid:pk>/no-ballast", desk.no_ballast, name="no-ballast"),
    path("entries/<uuid:pk>/number", entering.renumber, name="entry-number"),
    path("entries/<uuid:pk>/confirm", entering.confirm, name="entry-confirm"),
    path("entries/<uuid:pk>/withdraw", entering.withdraw, name="entry-withdraw"),
    path("entries/<uuid:pk>/restore", entering.restore, name="entry-restore"),
    path("weigh-ins/<uuid:pk>/void", desk.weigh_in_void, name="weigh-in-void"),
    path("tech-readings/<uuid:pk>/void", desk.tech_reading_void, name="tech-reading-void"),
    path("ballast-checks/<uuid:pk>/void", desk.ballast_check_void, name="ballast-check-void"),
    path("teams/<uuid:pk>/results", results.team_results, name="results"),
    path("clubs/<uuid:pk>/events/new", listing.plan, name="event-new"),
    path("clubs/<uuid:pk>/rules", rules.rules, name="rules"),
    path("clubs/<uuid:pk>/scales", scales.scales, name="scales"),
    path("scale-sets/<uuid:pk>/", scale_checks.scale_set, name="scale-set"),
    path("scale-sets/<uuid:pk>/check", scale_checks.scale_check_new, name="scale-check-new"),
    path(
        "scale-sets/<uuid:pk>/corrections", scale_checks.scale_corrections, name="scale-corrections"
    ),
    path("scale-checks/<uuid:pk>/", scale_checks.scale_check, name="scale-check"),
    path("classes/<uuid:pk>/rules/", rules.class_rules, name="class-rules"),
    path("classes/<uuid:pk>/rules/new", rules.draft, name="rule-set-new"),
    path("rule-sets/<uuid:pk>/", rules.rule_set, name="rule-set"),
    path("rule-sets/<uuid:pk>/change", rules.rule_set_change, name="rule-set-change"),
    path("rule-sets/<uuid:pk>/publish", rules.publish, name="rule-set-publish"),
    path("rule-sets/<uuid:pk>/retire", rules.retire, name="rule-set-retire"),
    path("rule-sets/<uuid:pk>/add/<slug:kind>", rules.rule_add, name="rule-new"),
    path("rules/<uuid:pk>/change", rules.rule_change, name="rule-change"),
    path("rules/<uuid:pk>/remove", rules.rule_remove, name="rule-remove"),
    # As it was called before.
    path(
        "events/<uuid:pk>/by-hand",
        RedirectView.as_view(pattern_name="walk-in", query_string=True),
        name="old-walk-in",
    ),
]
