"""Addresses of tables of suggestions."""

from django.urls import path

from cars.runs.pages import suggestions as pages

urlpatterns = [
    path("clubs/<uuid:pk>/suggestions/", pages.club_suggestions, name="club-suggestions"),
    path(
        "clubs/<uuid:pk>/suggestions/new",
        pages.club_suggestions_draft,
        name="club-suggestions-draft",
    ),
    path(
        "clubs/<uuid:pk>/suggestions/own/new",
        pages.coach_suggestions_draft,
        name="coach-suggestions-draft",
    ),
    path("teams/<uuid:pk>/suggestions/", pages.team_suggestions, name="team-suggestions"),
    path(
        "teams/<uuid:pk>/suggestions/new",
        pages.team_suggestions_draft,
        name="team-suggestions-draft",
    ),
    path("suggestion-tables/<uuid:pk>/", pages.suggestion_table, name="suggestion-table"),
    path("suggestion-tables/<uuid:pk>/add", pages.suggestion_add, name="suggestion-add"),
    path(
        "suggestion-tables/<uuid:pk>/publish",
        pages.suggestions_publish,
        name="suggestions-publish",
    ),
    path("suggestion-tables/<uuid:pk>/retire", pages.suggestions_retire, name="suggestions-retire"),
    path(
        "suggestion-tables/<uuid:pk>/throw-away",
        pages.suggestions_throw_away,
        name="suggestions-throw-away",
    ),
    path("suggestions/<uuid:pk>/move", pages.suggestion_move, name="suggestion-move"),
    path("suggestions/<uuid:pk>/change", pages.suggestion_edit, name="suggestion-edit"),
    path("suggestions/<uuid:pk>/remove", pages.suggestion_remove, name="suggestion-remove"),
]
