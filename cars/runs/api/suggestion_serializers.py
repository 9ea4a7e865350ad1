"""Tables of suggestions as JSON."""

from typing import Any

from rest_framework import serializers

from cars.api_base import SPOTS_HELP, perhaps, words
from cars.models import Feel, RunDetails, Suggestion, SuggestionTable
from cars.models.suggestion import MOST_MINUTES
from cars.runs.actions.suggestions import EMPTY, FROM_PUBLISHED, FROM_STARTER, LONGEST
from cars.sheets.api.serializers import ChangeFieldsSerializer
from clubsetup.access.api.creating import CreateOnceSerializer
from teams.api.serializers import row
from teams.models import Club, Surface, Team

# Named here so that the schema can name them.
SUGGESTION_TABLE_STATES = SuggestionTable.State.choices
PLACES = Suggestion.Place.choices
BALANCES = Feel.Balance.choices
HANDS = Feel.Hands.choices
STEERING = Feel.Steering.choices
SURFACE_STATES = RunDetails.SurfaceState.choices
SUGGESTION_SOURCES = Suggestion.Source.choices
WAYS = [("up", "Before the one above it"), ("down", "After the one below it")]
BEGINNINGS = [
    (EMPTY, "Without a row"),
    (FROM_PUBLISHED, "As a copy of what is in force"),
    (FROM_STARTER, "With common practice, no source"),
]


class SuggestionTableSerializer(serializers.ModelSerializer[SuggestionTable]):
    """A version of a table: a team's own, a coach's where it names one, else the club's."""

    class Meta:
        model = SuggestionTable
        fields = (
            *("id", "club", "team", "coach", "version", "state", "note"),
            *("published_at", "published_by", "created_at"),
        )


class SuggestionTableCreateSerializer(CreateOnceSerializer):
    """The next version of a table, as a draft."""

    club = row(Club)
    team = perhaps(Team)
    as_coach = serializers.BooleanField(
        default=False, help_text="One's own as a coach of the club, and not the club's."
    )
    begin = serializers.ChoiceField(BEGINNINGS, default=EMPTY)
    note = words()


class PublishSuggestionsSerializer(serializers.Serializer[Any]):
    """What a version changed; from version 2 on this or the draft's note must say it."""

    note = words()


class MoveSuggestionSerializer(serializers.Serializer[Any]):
    """Which way a row goes, among those for the same place in the corner."""

    way = serializers.ChoiceField(WAYS, help_text="One up or one down; at the end it stays.")


def _felt(choices: Any, help_text: str) -> serializers.ChoiceField:
    return serializers.ChoiceField(
        choices, required=False, allow_blank=True, default="", help_text=help_text
    )


ANYTHING = "Empty: whichever."


class SuggestionGivenSerializer(ChangeFieldsSerializer):
    """One row of a table. All that it names must be felt."""

    place = _felt(PLACES, "Where in the corner; empty: anywhere.")
    balance = _felt(BALANCES, ANYTHING)
    hands = _felt(HANDS, ANYTHING)
    steering = _felt(STEERING, ANYTHING)
    surface = _felt(Surface.choices, ANYTHING)
    surface_state = _felt(SURFACE_STATES, ANYTHING)
    why = serializers.CharField(max_length=LONGEST["why"])
    minutes = serializers.IntegerField(min_value=1, max_value=MOST_MINUTES)
    caution = words(LONGEST["caution"])
    source = serializers.ChoiceField(SUGGESTION_SOURCES)  # type: ignore[assignment]
    source_note = words(LONGEST["source_note"])


class SuggestionCreateSerializer(CreateOnceSerializer, SuggestionGivenSerializer):
    """A row to add at the end of a draft."""


class SuggestionSerializer(serializers.ModelSerializer[Suggestion]):
    """One row of a table."""

    class Meta:
        model = Suggestion
        fields = (
            *("id", "table", "place", "balance", "hands", "steering", "surface", "surface_state"),
            *("adjuster", "spot", "amount", "unit", "why", "minutes", "caution"),
            *("source", "source_note", "position"),
        )
        extra_kwargs = {
            "spot": {"help_text": SPOTS_HELP},
            "amount": {
                "help_text": "As a change at the track counts it; plus is down on the "
                "spring, longer, stiffer, more."
            },
        }
