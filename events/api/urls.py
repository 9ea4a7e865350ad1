"""Addresses of the API of events; those of a package of its own stand in it."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from events.api import (
    ballast_forecast,
    draws,
    entry_runs,
    events,
    results,
    rules,
    scale_checks,
    tech,
)

router = SimpleRouter(trailing_slash=False)
router.register("rule-sets", rules.RuleSets, basename="api-rule-set")
router.register("rules", rules.Rules, basename="api-rule")
router.register("scale-sets", rules.ScaleSets, basename="api-scale-set")
router.register("scale-checks", scale_checks.ScaleChecks, basename="api-scale-check")
router.register("events", events.Events, basename="api-event")
router.register("event-classes", events.EventClasses, basename="api-event-class")
router.register("entries", events.Entries, basename="api-entry")
router.register("weigh-ins", tech.WeighIns, basename="api-weigh-in")
router.register("ballast-checks", tech.BallastChecks, basename="api-ballast-check")
router.register("tech-readings", tech.TechReadings, basename="api-tech-reading")
router.register("voids", tech.Voids, basename="api-void")
router.register("findings", tech.Findings, basename="api-finding")
router.register("draws", draws.Draws, basename="api-draw")

urlpatterns = [
    path(
        "drivers/<uuid:pk>/ballast-forecast",
        ballast_forecast.BallastForecastView.as_view(),
        name="api-ballast-forecast",
    ),
    path("rule-kinds", rules.RuleKinds.as_view(), name="api-rule-kinds"),
    path("teams/<uuid:pk>/results", results.TeamResults.as_view(), name="api-results"),
    path("runs/<uuid:pk>/entry", entry_runs.RunEntryView.as_view(), name="api-run-entry"),
    path("", include("events.records.api.urls")),
    path("", include("events.precheck.api.urls")),
    path("", include(router.urls)),
]
