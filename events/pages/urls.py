"""Addresses of the pages of events."""

from django.urls import path

from events.pages import (
    desk,
    entering,
    listing,
    printing,
    records,
    results,
    rules,
    scale_checks,
    scales,
)

urlpatterns = [
    path("events/", listing.events, name="events"),
    path("events/<uuid:pk>/", listing.event, name="event"),
    path("events/<uuid:pk>/classes/new", listing.class_add, name="event-class-new"),
    path("events/<uuid:pk>/desk", desk.desk_page, name="desk"),
    path("events/<uuid:pk>/prints", printing.event_prints, name="event-prints"),
    path("entries/<uuid:pk>/prints", printing.entry_prints, name="entry-prints"),
    path("cars/<uuid:pk>/labels", printing.car_labels, name="car-labels"),
    path("events/<uuid:pk>/records", records.records, name="records"),
    path("events/<uuid:pk>/records.<slug:kind>", records.records_file, name="records-file"),
    path("events/<uuid:pk>/by-hand", entering.by_hand, name="enter-by-hand"),
    path("events/<uuid:pk>/enter/<uuid:team>", entering.enter_car, name="enter"),
    path("events/<uuid:pk>/move/<slug:step>", listing.move, name="event-move"),
    path("event-classes/<uuid:pk>/remove", listing.class_remove, name="event-class-remove"),
    path("entries/<uuid:pk>/", desk.entry, name="entry"),
    path("entries/<uuid:pk>/weigh", desk.weigh_car, name="weigh"),
    path("entries/<uuid:pk>/ballast", desk.ballast, name="ballast-check"),
    path("entries/<uuid:pk>/measure", desk.measure, name="measure"),
    path("entries/<uuid:pk>/no-ballast", desk.no_ballast, name="no-ballast"),
    path("entries/<uuid:pk>/number", entering.renumber, name="entry-number"),
    path("entries/<uuid:pk>/withdraw", entering.withdraw, name="entry-withdraw"),
    path("weigh-ins/<uuid:pk>/void", desk.weigh_in_void, name="weigh-in-void"),
    path("tech-readings/<uuid:pk>/void", desk.tech_reading_void, name="tech-reading-void"),
    path("ballast-checks/<uuid:pk>/void", desk.ballast_check_void, name="ballast-check-void"),
    path("teams/<uuid:pk>/results", results.team_results, name="results"),
    path("clubs/<uuid:club>/events/new", listing.plan, name="event-new"),
    path("clubs/<uuid:club>/rules", rules.rules, name="rules"),
    path("clubs/<uuid:club>/scales", scales.scales, name="scales"),
    path("scale-sets/<uuid:pk>/", scale_checks.scale_set, name="scale-set"),
    path("scale-sets/<uuid:pk>/check", scale_checks.scale_check_new, name="scale-check-new"),
    path(
        "scale-sets/<uuid:pk>/corrections", scale_checks.scale_corrections, name="scale-corrections"
    ),
    path("scale-checks/<uuid:pk>/", scale_checks.scale_check, name="scale-check"),
    path("classes/<uuid:pk>/rules/new", rules.draft, name="rule-set-new"),
    path("rule-sets/<uuid:pk>/", rules.rule_set, name="rule-set"),
    path("rule-sets/<uuid:pk>/change", rules.rule_set_change, name="rule-set-change"),
    path("rule-sets/<uuid:pk>/publish", rules.publish, name="rule-set-publish"),
    path("rule-sets/<uuid:pk>/retire", rules.retire, name="rule-set-retire"),
    path("rule-sets/<uuid:pk>/add/<slug:kind>", rules.rule_add, name="rule-new"),
    path("rules/<uuid:pk>/remove", rules.rule_remove, name="rule-remove"),
]
