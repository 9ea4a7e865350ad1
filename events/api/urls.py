"""Addresses of the API of events."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from events.api import (
    draws,
    events,
    photos,
    precheck,
    records,
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
router.register("ballast-photos", photos.BallastPhotos, basename="api-ballast-photo")
router.register("tech-readings", tech.TechReadings, basename="api-tech-reading")
router.register("voids", tech.Voids, basename="api-void")
router.register("findings", tech.Findings, basename="api-finding")
router.register("draws", draws.Draws, basename="api-draw")

urlpatterns = [
    path("rule-kinds", rules.RuleKinds.as_view(), name="api-rule-kinds"),
    path("cars/<uuid:pk>/pre-check", precheck.CarPrecheck.as_view(), name="api-pre-check"),
    path("events/<uuid:pk>/records/erased-words", records.ErasedWords.as_view(), name="api-words"),
    path("events/<uuid:pk>/records", records.EventRecords.as_view(), name="api-records"),
    path(
        "events/<uuid:pk>/records/file",
        records.EventRecordsFile.as_view(),
        name="api-records-file",
    ),
    path("teams/<uuid:pk>/results", results.TeamResults.as_view(), name="api-results"),
    path("", include(router.urls)),
]
