"""What to try as JSON."""

from typing import Any

from rest_framework import serializers

from cars.api_base import SPOTS_HELP
from cars.models import Feel, RunDetails, Spot, Suggestion
from cars.runs.api.track_serializers import ExpectedSerializer
from cars.runs.queries.change_judges import RuleOutcome
from teams.models import Surface


def _choice(choices: Any, **more: Any) -> serializers.ChoiceField:
    return serializers.ChoiceField(choices, allow_blank=True, **more)


class FeltSerializer(serializers.Serializer[Any]):
    """What is felt; empty: not said."""

    entry = _choice(Feel.Balance.choices)
    middle = _choice(Feel.Balance.choices)
    exit = _choice(Feel.Balance.choices)
    hands = _choice(Feel.Hands.choices)
    steering = _choice(Feel.Steering.choices)
    surface = _choice(Surface.choices)
    surface_state = _choice(RunDetails.SurfaceState.choices)


class ChangeToMakeSerializer(serializers.Serializer[Any]):
    """A change as `cars/{id}/track-changes` takes it."""

    adjuster = serializers.SlugField()
    spot = serializers.ChoiceField(Spot.choices, help_text=SPOTS_HELP)
    amount = serializers.DecimalField(max_digits=12, decimal_places=4)
    unit = serializers.CharField()


class GoBackSerializer(serializers.Serializer[Any]):
    """How to go back to what stood before the last change."""

    put_back = serializers.ListField(
        child=serializers.UUIDField(), help_text="Changes for `cars/{id}/put-back`."
    )
    make_again = ChangeToMakeSerializer(many=True, help_text="What was put back, and was faster.")


class PullSerializer(serializers.Serializer[Any]):
    """Two places in the corner that ask for opposite changes."""

    places = serializers.ListField(child=serializers.ChoiceField(Suggestion.Place.choices))
    balances = serializers.ListField(child=serializers.ChoiceField(Feel.Balance.choices))


class RuleThenSerializer(serializers.Serializer[Any]):
    """What a class rule would say. Not an official finding."""

    rule = serializers.CharField()
    outcome = serializers.ChoiceField([(str(one), str(one)) for one in RuleOutcome])
    sentence = serializers.CharField()
    leaves = serializers.BooleanField(
        help_text="It fails, and would not without the change, or by less."
    )


class TriedSerializer(serializers.Serializer[Any]):
    """How often the team tried it at this feel on this surface, and what its runs said."""

    count = serializers.IntegerField()
    faster = serializers.IntegerField()
    slower = serializers.IntegerField()
    no_difference = serializers.IntegerField()
    cannot_tell = serializers.IntegerField()


class TrySerializer(ChangeToMakeSerializer):
    """One suggestion for this car."""

    suggestions = serializers.ListField(
        child=serializers.UUIDField(), help_text="The rows of the tables that say this."
    )
    table = serializers.UUIDField(help_text="The table of the first of them.")
    says = serializers.CharField(help_text="In words and the reader's units.")
    why = serializers.CharField()
    minutes = serializers.IntegerField()
    caution = serializers.CharField()
    source = serializers.ChoiceField(Suggestion.Source.choices)  # type: ignore[assignment]
    source_note = serializers.CharField()
    places = serializers.ListField(
        child=_choice(Suggestion.Place.choices), help_text="Where it is for; empty: anywhere."
    )
    alone = _choice(
        Suggestion.Place.choices,
        help_text="Where two places pull against each other: the one that it acts on alone.",
    )
    is_opposed = serializers.BooleanField(help_text="The opposite is suggested too.")
    is_out = serializers.BooleanField(
        help_text="It would leave a limit or a tolerance, or cannot be turned at all."
    )
    out = serializers.ListField(child=serializers.CharField(), help_text="Why it is out.")
    legal = serializers.CharField(help_text="In words; empty where no rules are known.")
    rules = RuleThenSerializer(many=True, help_text="Those that look at what it touches.")
    moved = ExpectedSerializer(many=True, help_text="Figures as they would read next.")
    read_again = serializers.ListField(
        child=serializers.SlugField(), help_text="Measures that nothing but reading them tells."
    )
    missing = serializers.CharField(help_text="Why not more can be told; empty where it can.")
    steer_was_deg = serializers.FloatField(
        allow_null=True,
        help_text="What is left to steer in the corner, at the front wheels; plus is left.",
    )
    steer_then_deg = serializers.FloatField(allow_null=True)
    notes = serializers.ListField(child=serializers.CharField())
    tried = TriedSerializer()


class WhatToTrySerializer(serializers.Serializer[Any]):
    """What to try on a car, in order: going back, where `go_back` is there, before all."""

    felt = FeltSerializer()
    run = serializers.UUIDField(allow_null=True, help_text="The car's newest run.")
    sheet = serializers.UUIDField(
        allow_null=True, help_text="Null where no sheet says how the car was set: no figures."
    )
    go_back = GoBackSerializer(allow_null=True)
    pull = PullSerializer(allow_null=True)
    failing_now = RuleThenSerializer(many=True, help_text="Rules that the car fails as it stands.")
    has_rules = serializers.BooleanField(help_text="Rules of its class are known.")
    order = serializers.CharField(help_text="By what rule the suggestions are ordered.")
    suggestions = TrySerializer(many=True)
    empty = serializers.CharField(help_text="What comes first where there is no suggestion.")
