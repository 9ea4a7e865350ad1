"""What the pages are shown of: the demo's club with everything in it, and clubs that just began.

Two clubs just began: one has people and nothing else, the other one of everything with nothing in
it: a car without a sheet, a class without rules, an event that nobody entered.
"""

import io
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Literal
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils import timezone

from cars.baselines.actions.baselines import draft_baseline
from cars.baselines.actions.chassis import add_chassis
from cars.baselines.actions.own_targets import set_own_target
from cars.exchange.actions.archive_import import import_archive
from cars.exchange.actions.exports import export_team
from cars.exchange.actions.imports import begin_import
from cars.exchange.files.archive_input import read_archive
from cars.garage.actions.cars import add_car
from cars.garage.actions.parts import add_part
from cars.handover.actions.handovers import offer_car
from cars.history.actions.parts_life import set_part_limit
from cars.models import BallastPiece, Baseline, Car, Chassis, Measure, Outing, Part, Sheet
from cars.runs.actions.suggestions import FROM_PUBLISHED, draft_suggestions
from cars.runs.queries.suggestions import tables_of_club
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.account import make_token
from clubsetup.access.models import SignIn, User
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.work import make_print
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.actions.draws import draw_cars
from events.actions.entries import enter_walk_in
from events.actions.events import add_event_class, plan_event, start_event
from events.actions.measuring import measure_car
from events.actions.rule_sets import add_rule, draft_rule_set, publish_rule_set
from events.actions.scales import add_scale_set
from events.actions.voiding import void_weigh_in
from events.demo.cast import Cast
from events.models import (
    BallastCheck,
    BallastPhoto,
    Entry,
    Event,
    EventClass,
    RuleSet,
    ScaleCheck,
    ScaleSet,
    WeighIn,
)
from teams.actions.clubs import found_club
from teams.actions.drivers import add_driver
from teams.actions.invitations import invite
from teams.actions.places import add_race_class, add_track
from teams.actions.teams import link_coach, make_team
from teams.models import (
    Club,
    ClubMember,
    CoachLink,
    Driver,
    DriverWeight,
    RaceClass,
    Team,
    TeamMember,
    Track,
)
from tests.benchmarks.demo_server import accept_plans
from tests.cars.exchange.unpacked import empty_archive
from tests.people import browser_of

State = Literal["full", "empty"]
Arguments = tuple[Any, ...]
PEOPLE_OF_DEMO = {
    "chief": "isa",
    "crew": "jonah",
    "guest": "nan",
    "coach": "ruben",
    "official": "ossian",
    "steward": "maren",
    "rival": "bo",
}
BEGINNERS = ("steward", "official", "coach", "chief", "guest", "stranger")
A_PHONE = "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0"
RUNS_OF_A_FILE = b"Car,Date,Time,Laps\n31,2026-08-08,18:05,7.41 7.52 7.48\n31,2026-08-08,18:25,x\n"
EMPTY_CLUB, BARE_CLUB = "Fallow Lane Oval Club", "Thin Ice Racers"


@dataclass
class Rows:
    """The arguments of addresses, by their first word or by their name; who visits, by role."""

    people: dict[str, Any]
    by_word: dict[str, Arguments] = field(default_factory=dict)
    by_name: dict[str, Arguments] = field(default_factory=dict)

    def arguments(self, name: str, route: str) -> Arguments | None:
        """Of that address; None where there is no row of the kind."""
        asked = route.count("<")
        found = self.by_name.get(name) or self.by_word.get(route.split("/", maxsplit=1)[0], ())
        return found[:asked] if len(found) >= asked else None


def make_rows(superuser: str) -> dict[State, Rows]:
    """All of them, in the database that `default` and `owner` lead to, which holds the demo."""
    accept_plans(superuser, 1)
    return {"full": _full(), "empty": _empty()}


def _cast(*people: tuple[str, str]) -> Cast:
    return Cast([{"key": key, "name": name} for key, name in people], "paddock-lantern-7")


def _full() -> Rows:
    """What the demo lacks for some page is added, as its people would."""
    cast = _cast(*((key, key.title()) for key in ("della", *PEOPLE_OF_DEMO.values())))
    rows = Rows({role: cast[key] for role, key in PEOPLE_OF_DEMO.items()})
    for add in (_people_of, _garage_of, _club_of, _meeting_of):
        add(cast, rows)
    return rows


def _people_of(cast: Cast, rows: Rows) -> None:
    with cast.acting("maren") as by:
        club = Club.objects.get(short_name="alder-hollow")
        invite(by=by, club=club, role="coach", note="For the winter school.")
        member = ClubMember.objects.get(user=cast["ossian"])
        rows.by_name["member-end"] = (club.pk, cast["ossian"].pk)
        rows.by_name["club-member-remove"] = (member.pk,)
    # Her phone, signed in too: what has no session is tidied away.
    browser_of(cast["isa"]).get(reverse("me"), headers={"user-agent": A_PHONE})
    with cast.acting("isa") as by:
        team = Team.objects.get(name="Wrenfield")
        invitation, secret = invite(by=by, club=club, team=team, role="crew")
        driver = Driver.objects.get(team=team, display_name="Pip")
        token, _ = make_token(by=by, name="Scale display in the trailer", scopes=["read"], days=90)
        make_token(by=by, name="Notebook", scopes=["read", "write"], days=7)
        signed_in = SignIn.objects.latest("created_at")
        member_of_team = TeamMember.objects.get(user=cast["nan"]).pk
        weight = DriverWeight.objects.filter(driver=driver)[0].pk
        link = CoachLink.objects.get(team=team)
    rows.by_word |= {
        "clubs": (club.pk,),
        "teams": (team.pk,),
        "join": (secret,),
        "invitations": (invitation.pk,),
        "drivers": (driver.pk,),
        "driver-weights": (weight,),
    }
    rows.by_name |= {
        "token-end": (token.pk,),
        "sign-in-end": (signed_in.pk,),
        "person-code": (cast["nan"].pk,),
        "team-member-role": (member_of_team,),
        "coach-change": (link.pk,),
        "coach-remove": (link.pk,),
    }


def _garage_of(cast: Cast, rows: Rows) -> None:
    with cast.acting("isa") as by:
        car = Car.objects.get(number="31")
        sheet = Sheet.objects.get(car=car, state="open")
        closed = Sheet.objects.filter(car=car, state="closed", role="set").latest("made_on")
        part = Part.objects.filter(team=car.team, sort="spring")[0]
        fit_part(by=by, sheet=sheet, sort="spring", spot="LF", part=part, seen=OVER_ANYTHING)
        note_change(
            by=by, sheet=sheet, adjuster="upper-rod", spot="LR", amount=Decimal(2), unit="flat"
        )
        target = open_sheet(by=by, car=car, role="target", based_on=closed)
        own_target = set_own_target(
            by=by,
            car=car,
            measure=Measure.objects.get(pk="ride-height"),
            spot="LR",
            target=parse("2 3/8", Kind.LENGTH),
            tolerance=parse("1/16", Kind.LENGTH),
            reason="It turns in better on the paved track.",
        )
        other = Car.objects.get(number="13")
        for_readme = Sheet.objects.get(car=other, state="open")
        piece = BallastPiece.objects.filter(car_id=car.pk)[0]
        spare = add_car(by=by, team=car.team, number="101", chassis=car.chassis)
        given = add_car(by=by, team=car.team, number="102", chassis=car.chassis)
        handover, _ = offer_car(by=by, car=given, history="none")
        limit = set_part_limit(by=by, team=car.team, sort="chain", per="nights", most=Decimal(90))
        brought = begin_import(
            by=by, team=car.team, kind="runs", file_name="august.csv", content=RUNS_OF_A_FILE
        )
    with cast.acting("ruben"):
        outing = Outing.objects.filter(order=2)[0]
    rows.by_word |= {
        "school-days": (outing.school_day_id,),
        "outings": (outing.pk,),
        "cars": (car.pk,),
        "sheets": (sheet.pk,),
        "parts": (part.pk,),
        "ballast-pieces": (piece.pk,),
        "handovers": (handover.pk,),
        "imports": (brought.pk,),
        "part-limits": (limit.pk,),
        "own-targets": (own_target.pk,),
        "chassis": (car.chassis_id,),
        "baselines": (car.baseline_id,),
    }
    rows.by_name |= {
        "spare car": (spare.pk,),
        "way-back": (closed.pk,),
        "car-season": (car.pk, closed.made_on.year),
        "car, for the README": (other.pk,),
        "sheet, for the README": (for_readme.pk,),
        "sheet, closed": (closed.pk,),
        "sheet, target": (target.pk,),
        "sheet-correct": (closed.pk,),
        "setup-sheet": (closed.pk,),
        **{f"bench-step, {step}": (sheet.pk, step) for step in STEPS},
    }


# Shown of a draft.
DRAFTED = (
    *("suggestion-table, draft", "suggestion-add"),
    *("suggestions-publish", "suggestions-throw-away"),
)
# Of the bench: one template, with other drawings and boxes.
STEPS = (
    *("tyres", "springs-dampers", "rear-axle", "front-axle", "kingpin", "steering", "lead"),
    *("ride-heights", "scales", "ballast", "gearing", "last-check"),
)


def _club_of(cast: Cast, rows: Rows) -> None:
    with cast.acting("maren") as by:
        chassis = Chassis.objects.get(pk=rows.by_word["chassis"][0])
        race_class = RaceClass.objects.get(name="Junior")
        draft = draft_baseline(
            by=by, chassis=chassis, surface="paved", note="Lower left rear after the spring meeting"
        )
        rules = draft_rule_set(
            by=by, race_class=race_class, valid_from=timezone.localdate() + timedelta(days=90)
        )
        rule = add_rule(by=by, rule_set=rules, kind="ballast_marked", parameters={})
        published = RuleSet.objects.filter(race_class=race_class).exclude(pk=rules.pk)[0]
        suggestions = tables_of_club(race_class.club).get(state="published")
        next_suggestions = draft_suggestions(by=by, club=race_class.club, begin=FROM_PUBLISHED)
        next_suggestion = next_suggestions.suggestions.all()[0]
        track = Track.objects.get(name="Alder Hollow")
    rows.by_word |= {
        "tracks": (track.pk,),
        "classes": (race_class.pk,),
        "rule-sets": (published.pk,),
        "rules": (rule.pk,),
        "suggestion-tables": (suggestions.pk,),
        "suggestions": (next_suggestion.pk,),
    }
    rows.by_name |= {
        **dict.fromkeys(DRAFTED, (next_suggestions.pk,)),
        "rule-set, draft": (rules.pk,),
        "rule-set-change": (rules.pk,),
        "rule-new": (rules.pk, "minimum_weight"),
        "rule-set-retire": (published.pk,),
        "baseline, draft": (draft.pk,),
    }


def _meeting_of(cast: Cast, rows: Rows) -> None:
    with cast.acting("ossian") as by:
        event = Event.objects.get(name="Lantern Night")
        planned = Event.objects.get(name="Frost Cup")
        entries = Entry.objects.filter(event=event)
        entry = entries.get(car_id=rows.by_word["cars"][0])
        other = entries.get(number="13")
        photo = BallastPhoto.objects.filter(ballast_check__entry=entry)[0]
        weigh_in = WeighIn.objects.filter(entry=other)[0]
        void_weigh_in(by=by, weigh_in=weigh_in, reason="A wheel was off the pad.")
        reading = measure_car(
            by=by,
            entry=entry,
            measure=Measure.objects.get(pk="wheelbase"),
            spot="left",
            length=parse("47 13/16", Kind.LENGTH),
        )
        draw = draw_cars(by=by, event=event, seed="4711", count=3, purpose="Fuel")
        draw_cars(by=by, event=event, seed="lantern 19", count=1, purpose="Ballast")
        classes = EventClass.objects.filter(event=event)
        walk_in = enter_walk_in(
            by=by, event_class=classes[0], car_number="101", car_id=rows.by_name["spare car"][0]
        )
        scales = ScaleSet.objects.get(name="Blue pads")
        scale_check = ScaleCheck.objects.filter(scale_set=scales).latest("created_at")
        check = BallastCheck.objects.filter(entry=entry)[0]
        standing = WeighIn.objects.filter(entry=entry)[0]
    _prints(cast, rows, event, entry)
    rows.by_word |= {
        "events": (event.pk,),
        "entries": (entry.pk,),
        "weigh-ins": (standing.pk,),
        "ballast-checks": (check.pk,),
        "ballast-photos": (photo.pk,),
        "scale-sets": (scales.pk,),
        "scale-checks": (scale_check.pk,),
        "tech-readings": (reading.pk,),
        "draws": (draw.pk,),
    }
    rows.by_name |= {
        "event, planned": (planned.pk,),
        "entry, voided": (other.pk,),
        "entry-confirm": (walk_in.pk,),
        "event-move": (event.pk, "end"),
        "enter": (planned.pk, rows.by_word["teams"][0]),
    }


def _prints(cast: Cast, rows: Rows, event: Event, entry: Entry) -> None:
    """Two made, one waiting."""
    with cast.acting("isa") as by:
        made = ask_for_print(by=by, document="sheet", subject_id=rows.by_name["setup-sheet"][0])
    make_print(made.pk)
    with cast.acting("isa") as by:
        car = rows.by_name["car, for the README"][0]
        closed = Sheet.objects.filter(car=car, state="closed", role="set").latest("made_on")
        paper = ask_for_print(by=by, document="sheet", subject_id=closed.pk)
    make_print(paper.pk)
    rows.by_name["print, for the README"] = (paper.pk,)
    with cast.acting("isa") as by:
        waiting = ask_for_print(by=by, document="sheet", subject_id=rows.by_word["sheets"][0])
        export = export_team(by=by, team=entry.team)
        came = read_archive(io.BytesIO(empty_archive()))
        imported = import_archive(by=by, team=entry.team, archive=came)
    make_print(export.pk)
    rows.by_word["prints"] = (made.pk,)
    rows.by_word["exports"] = (entry.team_id,)
    rows.by_name["archive"] = (imported.pk,)
    rows.by_name["print-state, waiting"] = (waiting.pk,)


def _empty() -> Rows:
    """Who is in a club that has nothing visits its pages; who is in the bare one those of rows."""
    cast = _beginners("fallow")
    bare = _beginners("thin")
    empty_club, empty_team = _begin(cast, EMPTY_CLUB, "fallow-lane")
    rows = Rows({f"new {role}": cast[f"fallow.{role}"] for role in BEGINNERS})
    rows.by_word |= {"clubs": (empty_club.pk,), "teams": (empty_team.pk,)}
    club, team = _begin(bare, BARE_CLUB, "thin-ice")
    rows.people |= {f"bare {role}": bare[f"thin.{role}"] for role in BEGINNERS}
    _bare_club(bare, club, rows)
    _bare_team(bare, team, rows)
    return rows


def _beginners(prefix: str) -> Cast:
    names = ("Avery Lund", "Corin Ash", "Tove Marl", "Hollis Reed", "Perrin Sloe", "Una Dell")
    keys = (f"{prefix}.{role}" for role in BEGINNERS)
    return _cast(*zip(keys, names, strict=True))


def _begin(cast: Cast, name: str, short_name: str) -> tuple[Club, Team]:
    prefix = next(iter(cast.people)).partition(".")[0]
    with cast.acting(f"{prefix}.steward") as by:
        club = found_club(by=by, name=name, short_name=short_name, time_zone="America/Chicago")
        team = make_team(by=by, club=club, name="First Gear")
    for role in ("official", "coach"):
        cast.join(f"{prefix}.steward", f"{prefix}.{role}", club, role)
    cast.join(f"{prefix}.steward", f"{prefix}.chief", club, "chief", team)
    cast.join(f"{prefix}.chief", f"{prefix}.guest", club, "guest", team)
    return club, team


def _today(club: Club) -> date:
    """By the clock on the club's wall."""
    return timezone.localdate(timezone=ZoneInfo(club.time_zone))


def _bare_club(cast: Cast, club: Club, rows: Rows) -> None:
    today = _today(club)
    with cast.acting("thin.steward") as by:
        track = add_track(by=by, club=club, name="Thin Ice Ring", surface="paved")
        race_class = add_race_class(by=by, club=club, name="First Year")
        rules = draft_rule_set(by=by, race_class=race_class, valid_from=today)
        chassis = add_chassis(by=by, club=club, name="Plain Frame", geometry={}, note="")
        baseline: Baseline = draft_baseline(by=by, chassis=chassis, surface="paved")
        division = parse("0.5 lb", Kind.MASS)
        scales = add_scale_set(by=by, club=club, name="Four pads", division=division)
        suggestions = draft_suggestions(by=by, club=club)
        when: dict[str, Any] = {"by": by, "club": club, "track": track}
        event = plan_event(name="First Laps", starts_on=today, ends_on=today, **when)
        add_event_class(by=by, event=event, race_class=_class_with_a_rule(by, club))
        event = start_event(by=by, event=event)
        later = today + timedelta(days=9)
        planned = plan_event(name="Second Laps", starts_on=later, ends_on=later, **when)
    rows.by_word |= {
        "tracks": (track.pk,),
        "classes": (race_class.pk,),
        "rule-sets": (rules.pk,),
        "chassis": (chassis.pk,),
        "baselines": (baseline.pk,),
        "scale-sets": (scales.pk,),
        "events": (event.pk,),
        "suggestion-tables": (suggestions.pk,),
    }
    rows.by_name |= {
        "event, planned": (planned.pk,),
        "suggestion-table, draft": (suggestions.pk,),
        "rule-set, draft": (rules.pk,),
        "baseline, draft": (baseline.pk,),
    }


def _class_with_a_rule(by: User, club: Club) -> RaceClass:
    """No event starts without one."""
    race_class = add_race_class(by=by, club=club, name="Second Year")
    rules = draft_rule_set(by=by, race_class=race_class, valid_from=_today(club))
    add_rule(by=by, rule_set=rules, kind="ballast_marked", parameters={})
    publish_rule_set(by=by, rule_set=rules)
    return race_class


def _bare_team(cast: Cast, team: Team, rows: Rows) -> None:
    with cast.acting("thin.chief") as by:
        chassis = Chassis.objects.get(pk=rows.by_word["chassis"][0])
        driver = add_driver(by=by, team=team, display_name="Ro")
        car = add_car(by=by, team=team, number="5", chassis=chassis)
        sheeted = add_car(by=by, team=team, number="6", chassis=chassis)
        sheet = open_sheet(by=by, car=sheeted, role="found", surface="paved")
        part = add_part(by=by, team=team, sort="tyre")
        link_coach(by=by, team=team, coach=cast["thin.coach"])
    rows.by_word |= {
        "drivers": (driver.pk,),
        "cars": (car.pk,),
        "sheets": (sheet.pk,),
        "parts": (part.pk,),
    }
    rows.by_name |= {
        "enter": (rows.by_name["event, planned"][0], team.pk),
        "team, bare": (team.pk,),
        **{f"bench-step, {step}": (sheet.pk, step) for step in STEPS},
    }
