"""Makes the event of tests/benchmarks/load_desk.py by the actions, and prints what is needed to
visit it as one line of JSON. Run as a module, in the environment of the service."""

import json
import os
import sys
import time
from datetime import timedelta
from typing import Any

import django

TEAMS, OFFICIALS = 30, 3


def main(entries: int) -> dict[str, Any]:
    """The event, its entries, and a session for every visitor."""
    from django.test import Client  # noqa: PLC0415 - after django.setup()
    from django.utils import timezone  # noqa: PLC0415

    from cars.baselines.actions.chassis import add_chassis  # noqa: PLC0415
    from cars.garage.actions.cars import add_car  # noqa: PLC0415
    from clubsetup.access.viewer import viewing_as  # noqa: PLC0415
    from clubsetup.quantities.kinds import Kind  # noqa: PLC0415
    from clubsetup.quantities.reading import parse  # noqa: PLC0415
    from events.actions.entries import enter  # noqa: PLC0415
    from events.actions.events import add_event_class, plan_event, start_event  # noqa: PLC0415
    from events.actions.rule_sets import (  # noqa: PLC0415
        add_rule,
        draft_rule_set,
        publish_rule_set,
    )
    from events.actions.scales import add_scale_set  # noqa: PLC0415
    from teams.actions.drivers import add_driver  # noqa: PLC0415
    from teams.actions.places import add_race_class, add_track  # noqa: PLC0415
    from teams.actions.teams import make_team  # noqa: PLC0415
    from teams.models import Club  # noqa: PLC0415
    from tests.people import account_of, join, person  # noqa: PLC0415

    started, day = time.monotonic(), timezone.localdate()
    steward = account_of(os.environ["STEWARD"])
    assert steward is not None
    with viewing_as(steward.pk):
        club = Club.objects.get()
        track = add_track(by=steward, club=club, name="Long Oval", surface="paved")
        race_class = add_race_class(by=steward, club=club, name="Junior")
        chassis = add_chassis(by=steward, club=club, name="Wisp")
        scales = add_scale_set(
            by=steward, club=club, name="Four pads", division=parse("0.2 lb", Kind.MASS)
        )
        rules = draft_rule_set(by=steward, race_class=race_class, valid_from=day)
        for kind, given in (
            ("minimum_weight", {"minimum": "145.1495584"}),
            ("left_limit", {"at_most": "58"}),
            ("ballast_marked", {}),
            ("ballast_fixed", {}),
        ):
            add_rule(by=steward, rule_set=rules, kind=kind, parameters=given)
        publish_rule_set(by=steward, rule_set=rules)
        event = plan_event(
            by=steward,
            club=club,
            track=track,
            name="Long Meeting",
            starts_on=day,
            ends_on=day + timedelta(days=1),
        )
        event_class = add_event_class(by=steward, event=event, race_class=race_class)
        event = start_event(by=steward, event=event, another_day=True)
        count = min(TEAMS, entries)
        teams = [make_team(by=steward, club=club, name=f"Team {n}") for n in range(count)]
    event_class.event = event
    officials = [person(f"official {n}") for n in range(OFFICIALS)]
    for official in officials:
        join(steward, official, club, "official")
    made, chiefs = [], []
    for number, team in enumerate(teams):
        chief = person(f"chief {number}")
        join(steward, chief, club, "chief", team)
        chiefs.append(chief)
        with viewing_as(chief.pk):
            for n in range(number, entries, count):
                car = add_car(by=chief, team=team, number=str(n + 1), chassis=chassis)
                driver = add_driver(by=chief, team=team, display_name=f"Driver {n + 1}")
                made.append(enter(by=chief, event_class=event_class, car=car, driver=driver))
    sessions = {}
    for user in [*officials, *chiefs]:
        client = Client()
        client.force_login(user)
        sessions[user.email] = client.cookies["sessionid"].value
    names = {str(e.pk): f"chief.{teams.index(e.car.team)}@example.org" for e in made}
    return {
        "event": str(event.pk),
        "scale_set": str(scales.pk),
        "entries": names,
        "sessions": sessions,
        "took": time.monotonic() - started,
    }


if __name__ == "__main__":
    django.setup()
    sys.stdout.write(json.dumps(main(int(sys.argv[1]))) + "\n")
