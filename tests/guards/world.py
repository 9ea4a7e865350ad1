"""A world of rows, at least one of every kind, made by the actions on top of the people.

Everything hangs on the Wrens of Fernbank. Kestrels and Marl Heath have enough to try to reach
across with.
"""

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import psycopg
from django.db import ProgrammingError, connection, transaction

from cars.baselines.actions.baselines import draft_baseline
from cars.baselines.actions.mounts import add_mount
from cars.baselines.actions.own_targets import set_own_target
from cars.catalogue.keys import Key
from cars.exchange.actions.archive_import import import_archive
from cars.exchange.actions.exports import export_team
from cars.exchange.actions.imports import begin_import, choose_columns
from cars.exchange.files.archive_input import read_archive
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.cars import add_car
from cars.garage.actions.parts import add_part
from cars.handover.actions.handovers import offer_car
from cars.history.actions.advice import leave_advice, reply_to_advice
from cars.history.actions.parts_life import set_part_limit, set_part_start
from cars.history.actions.school_days import plan_school_day, show_school_day
from cars.models import (
    Advice,
    AdviceReply,
    BallastMount,
    BallastPiece,
    Baseline,
    BaselineValue,
    CalibrationReset,
    Car,
    Change,
    Chassis,
    Comment,
    Feel,
    HandedRun,
    HandedSheet,
    Handover,
    Import,
    ImportColumns,
    ImportedArchive,
    Laps,
    Measure,
    Outing,
    Ownership,
    OwnTarget,
    Part,
    PartCode,
    PartFitted,
    PartLimit,
    PartStart,
    Plan,
    Reading,
    Run,
    RunDetails,
    RunPart,
    RunReading,
    SchoolDay,
    Sheet,
    SheetTargetSource,
    Suggestion,
    SuggestionTable,
    TrackChange,
    TrackReading,
    Weather,
)
from cars.plans.actions.turns import accept_plan, reset_calibration
from cars.runs.actions.after_run import note_run_part, note_run_readings
from cars.runs.actions.runs import FeelSaid, RunFacts, TimedLaps, note_run
from cars.runs.actions.suggestions import (
    SuggestionGiven,
    add_suggestion,
    draft_suggestions,
    publish_suggestions,
)
from cars.runs.actions.track_changes import note_track_change
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.actions.weather import note_weather
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.account import make_token
from clubsetup.access.ids import new_id
from clubsetup.access.models import ApiToken, SignIn, User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from events.actions.ballast import check_ballast
from events.actions.draws import draw_cars
from events.actions.entries import enter, enter_walk_in, withdraw_entry
from events.actions.entry_runs import tie_run
from events.actions.events import add_event_class, plan_event, publish_findings
from events.actions.measuring import measure_car
from events.actions.rule_sets import add_rule, draft_rule_set
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.voiding import void_weigh_in
from events.models import (
    BallastCheck,
    BallastPhoto,
    Draw,
    Entry,
    EntryRun,
    Event,
    EventClass,
    Finding,
    Rule,
    RuleSet,
    ScaleCheck,
    TechReading,
    Void,
    WeighIn,
)
from events.records.actions.photos import photograph_ballast
from teams.actions.drivers import add_driver, log_driver_weight, set_birth_date
from teams.actions.invitations import invite
from teams.actions.places import add_race_class, add_track
from teams.actions.teams import link_coach
from teams.models import (
    ClubMember,
    CoachLink,
    Driver,
    DriverBirth,
    DriverWeight,
    Invitation,
    RaceClass,
    TeamMember,
    Track,
)
from tests.cars.exchange.unpacked import empty_archive
from tests.cars.garage import make_garage, set_target
from tests.events.meeting import RULES, Meeting, make_meeting, publish_rules
from tests.events.photographs import jpeg
from tests.figures import STATEMENTS, count
from tests.people import People, join, make_people, person
from tests.printing.documents import TEAM_CARD

WORLD_DATABASE = "world"
# Ten years old on the day of the event, which asks for eight to twelve.
BORN = date(2016, 2, 3)
AGE_RULE = ("driver_age", {"at_least": 8, "at_most": 12})
HANDED: dict[str, Any] = {
    **{"role": "set", "made_on": "2026-03-14", "surface": "paved", "track": None, "targets": None},
    **{"fuel": {"value": None, "typed": ""}, "chassis": {"name": "Osprey", "geometry": {}}},
    "race_class": "",
}
HANDED_RUN: dict[str, Any] = {
    **{"kind": "heat", "surface": "paved", "track": None, "chassis": "Osprey"},
    "words": ["It ran well."],
}
TIGHTER = SuggestionGiven(
    balance="loose",
    adjuster="spring-seat",
    spot="RF",
    amount=Decimal("0.5"),
    unit="turn",
    why="Cross goes up.",
    minutes=3,
    source="club",
)
AS_READ = {
    "ride-height.LF": "2 5/16",
    "ride-height.RF": "2 5/16",
    "ride-height.LR": "2 1/4",
    "ride-height.RR": "2 7/16",
    "weight.LF": "75",
    "weight.RF": "68",
    "weight.LR": "92",
    "weight.RR": "73",
}


def typed(kind: Kind, text: str) -> Typed:
    """What somebody typed, in inches and pounds without a unit."""
    return parse(text, kind)


RUNS = b"Car,Date,Time\n7,2026-03-14,10:20\n"


@dataclass
class World:
    """The rows; whatever is the team's is the Wrens'."""

    people: People
    writer: User  # a coach whom the Wrens let write
    coder: User  # a coach whom the Wrens let see part codes
    chassis: Chassis
    mount: BallastMount
    shelf: BallastPiece  # of the team, on no car
    baseline: Baseline  # published
    baseline_value: BaselineValue
    draft: Baseline
    draft_value: BaselineValue
    car: Car
    plain_car: Car  # that goes by no baseline of its own
    free_car: Car  # of which nothing was written
    ownership: Ownership
    sheet: Sheet  # open
    closed: Sheet
    was_set: Sheet
    reading: Reading  # on the open sheet
    change: Change
    comment: Comment  # the coach's
    import_draft: Import  # the chief's, of runs of `car`, without a problem
    import_columns: ImportColumns
    advice: Advice  # the coach's, on `car`, open
    advice_reply: AdviceReply  # the chief's
    school_day: SchoolDay  # the coach's, shown
    outing: Outing  # of `car`, on that day
    handover: Handover  # of the `plain_car`, offered
    handover_code: str
    handed: HandedSheet  # says that `sheet` came with it
    handed_run: HandedRun  # says that `run` came with it
    spare_run: Run  # of `car`, with nothing on it
    plan: Plan
    reset: CalibrationReset
    twice: Reading  # in a box that was read before too
    part: Part
    code: PartCode
    driver: Driver
    birth: DriverBirth
    weight: DriverWeight
    track: Track
    race_class: RaceClass
    rule_set: RuleSet  # published
    rule_draft: RuleSet
    rule: Rule  # of the draft
    age_rule: Rule
    meeting: Meeting  # under way, findings published
    weigh_in: WeighIn  # stands
    voided: WeighIn
    void: Void
    check: BallastCheck
    photo: BallastPhoto  # of `check`
    finding: Finding
    invitation: Invitation  # open, to the team
    club_invitation: Invitation  # open, to the club
    job: PrintJob
    export: PrintJob  # the chief's archive of the team, not made yet
    imported: ImportedArchive  # of a team that had nothing
    token: ApiToken
    spare_driver: Driver  # without a birth date
    spare_part: Part  # without a code
    spare_class: RaceClass  # not run at the event
    scale_check: ScaleCheck
    tech_reading: TechReading
    draw: Draw
    withdrawn: Entry  # of `car`
    weather: Weather
    track_change: TrackChange  # of a pressure, on the sheet as set of `change`
    track_reading: TrackReading
    run: Run  # of `car`, with what stands of it
    run_details: RunDetails
    feel: Feel
    laps: Laps
    run_reading: RunReading
    run_part: RunPart
    part_start: PartStart  # of `part`
    part_limit: PartLimit  # of the team, for chains
    club_limit: PartLimit
    entry_run: EntryRun  # of `run` and `withdrawn`
    club_table: SuggestionTable  # published
    club_draft: SuggestionTable
    club_draft_row: Suggestion
    team_draft: SuggestionTable
    team_draft_row: Suggestion
    coach_table: SuggestionTable  # published by `coach`
    coach_row: Suggestion
    fitted: PartFitted
    own_target: OwnTarget
    target: Sheet
    bench: Sheet  # worked towards `target`
    next_event: Event  # planned
    next_class: EventClass
    secret: str  # of the link of `invitation`
    other_track: Track  # Marl Heath's
    other_class: RaceClass  # Marl Heath's

    def who(self) -> dict[str, User | None]:
        """Everybody by name; nobody is None."""
        names = (
            *("chief", "crew", "guest", "coach", "official", "other_official", "steward"),
            *("other_steward", "rival", "stranger"),
        )
        people = {name: getattr(self.people, name) for name in names}
        return {
            **people,
            "unlinked": self.people.unlinked_coach,
            "writer": self.writer,
            "coder": self.coder,
            "nobody": None,
        }

    def member(self, name: str) -> ClubMember | TeamMember:
        """That person's membership."""
        person = getattr(self.people, name)
        with viewing_as(self.people.steward.pk):
            found = ClubMember.objects.filter(user=person).first()
            return found or TeamMember.objects.get(user=person)

    def sign_in(self) -> SignIn:
        """A browser in which the chief is signed in."""
        chief = self.people.chief
        with viewing_as(chief.pk):
            given = {"user": chief, "device": "A browser"}
            return SignIn.objects.get_or_create(digest="0" * 64, defaults=given)[0]

    def link(self) -> CoachLink:
        """The coach's link to the Wrens."""
        with viewing_as(self.people.chief.pk):
            return CoachLink.objects.get(coach=self.people.coach)


def walk_in_entry(w: World) -> Entry:
    """An entry that the official made of a car of the Wrens, and the Wrens have not confirmed."""
    by = w.people.official
    with viewing_as(by.pk):
        if made := Entry.objects.filter(car_id=w.plain_car.pk, confirmed_at__isnull=True).first():
            return made
        return enter_walk_in(
            by=by,
            event_class=w.meeting.event_class,
            car_number=w.plain_car.number,
            car_id=w.plain_car.pk,
        )


_made: list[World] = []


@contextmanager
def standing_world() -> Iterator[World]:
    """The world of this run for many tests; each undoes what it does in `undone`.

    It stands in a database of its own, made once; whoever comes gets rows to alter of their own.
    """
    with _in(WORLD_DATABASE):
        if not _made:
            with transaction.atomic():
                _made.append(make_world(make_people()))
                connection.run_on_commit.clear()  # nothing is printed or sent
        with transaction.atomic():
            yield deepcopy(_made[0])
            transaction.set_rollback(True)


@contextmanager
def _in(database: str) -> Iterator[None]:
    here = connection.settings_dict["NAME"]
    _turn_to(database)
    try:
        yield
    finally:
        _turn_to(here)


def _turn_to(database: str) -> None:
    connection.close()
    connection.settings_dict["NAME"] = database


@contextmanager
def undone() -> Iterator[None]:
    """What is done inside is rolled back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def refused(attempt: Callable[[], object], *, whole: bool = True) -> bool:
    """Whether a policy or a missing grant stops it; anything else that stops it is raised.

    `whole`: what it leaves must hold together too, as it must before a commit.
    """
    count(STATEMENTS)
    try:
        with undone():
            attempt()
            if whole:
                with connection.cursor() as cursor:
                    cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    except ProgrammingError as error:
        if not isinstance(error.__cause__, psycopg.errors.InsufficientPrivilege):
            raise
        return True
    return False


def _coaches(people: People) -> tuple[User, User]:
    """Two more coaches of the Wrens, each let do one thing more."""
    writer, coder = person("writer"), person("coder")
    for coach in (writer, coder):
        join(people.steward, coach, people.club, "coach")
    linked: dict[str, Any] = {"by": people.chief, "team": people.team}
    with viewing_as(people.chief.pk):
        link_coach(**linked, coach=writer, may_write=True)
        link_coach(**linked, coach=coder, may_see_codes=True)
    return writer, coder


def _keep_the_bench(people: People, car: Car) -> tuple[Sheet, Sheet, Sheet, Reading, Change, Plan]:
    """An open sheet with readings, a change and a plan; and closed ones before it."""
    by = people.chief
    kept: dict[str, Any] = {"by": by, "car": car, "role": "found", "surface": "paved"}
    with viewing_as(by.pk):
        was_set = open_sheet(made_on=date(2026, 2, 28), **{**kept, "role": "set"})
        take_typed(by=by, sheet=was_set, typed=AS_READ)
        was_set = close_sheet(by=by, sheet=was_set)
        closed = open_sheet(made_on=date(2026, 3, 7), **kept)
        take_typed(by=by, sheet=closed, typed=AS_READ)
        closed = close_sheet(by=by, sheet=closed)
        sheet = open_sheet(made_on=date(2026, 3, 14), **kept)
        reading = take_typed(by=by, sheet=sheet, typed=AS_READ)[0]
        turns = [Decimal(1), Decimal(0), Decimal(0), Decimal(0)]
        plan = accept_plan(by=by, sheet=sheet, turns=turns, seen=OVER_ANYTHING)
        change = note_change(
            by=by, sheet=sheet, adjuster="upper-rod", spot="LR", amount=Decimal(2), unit="flat"
        )
    return sheet, closed, was_set, reading, change, plan


def at_the_track(
    people: People, car: Car, sheet: Sheet, entry: Entry, part: Part
) -> dict[str, Any]:
    """What the team notes between two runs, and a run; `sheet` as set."""
    by, team = people.chief, people.team
    with viewing_as(by.pk):
        weather = note_weather(
            by=by,
            team=team,
            temperature=Decimal(20),
            humidity=Decimal(55),
            pressure=Decimal(990),
            pressure_of="place",
        )
        track_change = note_track_change(
            by=by, sheet=sheet, adjuster="pressure", spot="LF", amount=Decimal(1), unit="psi"
        )
        hot = typed(Kind.PRESSURE, "12")
        again = {Key("pressure", "LF"): hot}
        spare_run = note_run(by=by, car=car, facts=RunFacts())
        run = note_run(
            by=by,
            car=car,
            facts=RunFacts(weather=weather, note="It ran well."),
            said=FeelSaid(entry="loose"),
            laps=TimedLaps([Decimal("7.5"), Decimal("7.4")], ["first", ""], "hand"),
        )
        entry_run = tie_run(by=by, run=run, entry=entry)
        return {
            "weather": weather,
            "track_change": track_change,
            "track_reading": take_track_readings(by=by, sheet=sheet, readings=again)[0],
            "run": run,
            "spare_run": spare_run,
            "handed_run": HandedRun.objects.create(
                run=run,
                team=team,
                handover=Handover.objects.get(),
                source=new_id(),
                content=HANDED_RUN,
            ),
            "run_details": run.details.get(),
            "feel": run.feels.get(),
            "laps": run.laps.get(),
            "run_reading": note_run_readings(
                by=by, run=run, readings={Key("pressure", "LF"): hot}, expected=OVER_ANYTHING
            )[0],
            "run_part": note_run_part(
                by=by, run=run, sort=part.sort, spot="LF", part=part, expected=None
            ),
            "entry_run": entry_run,
        }


def _suggestions(people: People) -> dict[str, Any]:
    """The club's table with a draft after it, a draft of the team's own, one of the coach."""
    club = people.club
    made: dict[str, Any] = {}
    for by, what, whose in (
        (people.steward, "club_table", {}),
        (people.steward, "club_draft", {}),
        (people.chief, "team_draft", {"team": people.team}),
        (people.coach, "coach_table", {"coach": people.coach}),
    ):
        with viewing_as(by.pk):
            table = draft_suggestions(by=by, club=club, **whose)
            row = add_suggestion(by=by, table=table, given=TIGHTER)
            if "table" in what:
                table = publish_suggestions(by=by, table=table)
        made |= {what: table, f"{what}_row": row}
    made["coach_row"] = made.pop("coach_table_row")
    del made["club_table_row"]
    return made


def make_world(people: People) -> World:
    """All of it; see the module."""
    writer, coder = _coaches(people)
    garage = make_garage(people)
    meeting = make_meeting(people, [*RULES, AGE_RULE])
    chief, steward, official, coach = people.chief, people.steward, people.official, people.coach
    sheet, closed, was_set, reading, change, plan = _keep_the_bench(people, garage.car)
    with viewing_as(chief.pk):
        plain_car = add_car(by=chief, team=people.team, number="77", chassis=garage.chassis)
        free_car = add_car(by=chief, team=people.team, number="79", chassis=garage.chassis)
        reset = reset_calibration(by=chief, car=garage.car, reason="New springs.")
        part = add_part(by=chief, team=people.team, sort="spring", code="K-4", note="Soft one.")
        for text in ("4", "5"):
            twice = take_typed(by=chief, sheet=sheet, typed={"caster.right": text})[0]
        shelf = add_ballast_piece(
            by=chief, team=people.team, label="7", marked_mass=typed(Kind.MASS, "3")
        )
        fitted = fit_part(
            by=chief, sheet=sheet, sort="spring", spot="LF", part=part, seen=OVER_ANYTHING
        )
        assert fitted
        own_target = set_own_target(
            by=chief,
            car=garage.car,
            measure=Measure.objects.get(pk="wheelbase"),
            spot="left",
            target=typed(Kind.LENGTH, "46 1/4"),
            tolerance=typed(Kind.LENGTH, "1/8"),
            reason="It turns in better.",
        )
        target = open_sheet(by=chief, car=garage.car, role="target", based_on=closed)
        # Beside the one that is open already, as before a car had one bench of a kind at a time.
        as_target: dict[str, Any] = {"surface": target.surface, "baseline": target.baseline}
        bench = open_sheet(by=chief, car=garage.car, role="found", **as_target)
        SheetTargetSource(sheet=bench, team_id=bench.team_id, target=target).save(force_insert=True)
        take_typed(by=chief, sheet=bench, typed=AS_READ)
        spare_part = add_part(by=chief, team=people.team, sort="tyre")
        part_start = set_part_start(by=chief, part=part, nights=12)
        assert part_start
        chains: dict[str, Any] = {"sort": "chain", "per": "nights", "most": Decimal(8)}
        part_limit = set_part_limit(by=chief, team=people.team, **chains)
        spare_driver = add_driver(by=chief, team=people.team, display_name="Wren")
        set_birth_date(by=chief, driver=meeting.driver, birth_date=BORN)
        weight = log_driver_weight(
            by=chief,
            driver=meeting.driver,
            weighed_on=date(2026, 3, 1),
            mass=typed(Kind.MASS, "78"),
        )
        invitation, secret = invite(by=chief, club=people.club, team=people.team, role="guest")
        job = ask_for_print(by=chief, document=TEAM_CARD.key, subject_id=people.team.pk)
        export = export_team(by=chief, team=people.team)
        archive = read_archive(io.BytesIO(empty_archive()))
        imported = import_archive(by=chief, team=people.team, archive=archive)
        token, _ = make_token(by=chief, name="Mine", scopes=["read"], days=3)
        entry = enter(
            by=chief, event_class=meeting.event_class, car=garage.car, driver=spare_driver
        )
        withdrawn = withdraw_entry(by=chief, entry=entry)
        birth, code = DriverBirth.objects.get(), PartCode.objects.get()
        ownership = garage.car.ownerships.get()
    with viewing_as(coach.pk):
        remark = add_comment(by=coach, sheet=sheet, text="Try half a turn out.")
        advice = leave_advice(
            by=coach,
            car=garage.car,
            text="Look at the right front.",
            measure=Measure.objects.get(pk="ride-height"),
            spot="RF",
            wanted=typed(Kind.LENGTH, "2 1/2"),
        )
        school_day = plan_school_day(
            by=coach,
            club=people.club,
            day=date(2027, 1, 9),
            name="First evening",
            track=meeting.track,
            cars=[garage.car],
        )
        school_day = show_school_day(by=coach, school_day=school_day)
        outing = Outing.objects.get()
    with viewing_as(chief.pk):
        advice_reply = reply_to_advice(by=chief, advice=advice, text="We will.")
        handover, handover_code = offer_car(by=chief, car=plain_car, history="none")
        handed = HandedSheet.objects.create(
            sheet=sheet, team=people.team, handover=handover, source=new_id(), content=HANDED
        )
        import_draft = begin_import(
            by=chief, team=people.team, kind="runs", file_name="runs.csv", content=RUNS
        )
        choose_columns(by=chief, row=import_draft, columns=import_draft.columns)
        import_columns = ImportColumns.objects.get()
    with viewing_as(steward.pk):
        club_limit = set_part_limit(by=steward, club=people.club, **chains)
        length = Kind.LENGTH
        mount = add_mount(
            by=steward,
            chassis=garage.chassis,
            name="Left rail",
            x=typed(length, "20"),
            y=typed(length, "9"),
            capacity=typed(Kind.MASS, "20"),
        )
        draft = draft_baseline(by=steward, chassis=garage.chassis, surface="dirt")
        spare_class = add_race_class(by=steward, club=people.club, name="Senior")
        rule_draft = draft_rule_set(
            by=steward, race_class=meeting.race_class, valid_from=date(2027, 1, 1)
        )
        rule = add_rule(by=steward, rule_set=rule_draft, kind="ballast_marked", parameters={})
        club_invitation, _ = invite(by=steward, club=people.club, role="coach")
        value = BaselineValue.objects.filter(baseline=garage.baseline)[0]
        draft_value = set_target(
            by=steward,
            baseline=draft,
            measure=Measure.objects.get(pk="wheelbase"),
            spot="left",
            target=typed(length, "46 1/4"),
            tolerance=typed(length, "1/8"),
            source="club",
        )
    publish_rules(people, spare_class, [("ballast_marked", {})])
    with viewing_as(people.other_steward.pk):
        other: dict[str, Any] = {"by": people.other_steward, "club": people.other_club}
        other_track = add_track(**other, name="Heath Ring", surface="dirt")
        other_class = add_race_class(**other, name="Heath Junior")
    voided = meeting.weigh()
    weigh_in = meeting.weigh("322")
    with viewing_as(official.pk):
        void = void_weigh_in(by=official, weigh_in=voided, reason="A wheel was off the pad.")
        check = check_ballast(
            by=official,
            entry=meeting.entry,
            piece=meeting.piece,
            label_legible=True,
            label="27",
            fixed=True,
            weighed_mass=typed(Kind.MASS, "4"),
        )
        photo = photograph_ballast(by=official, ballast_check=check, photo=jpeg())
        finding = Finding.objects.order_by("-batch")[0]
        age_rule = meeting.rule_set.rules.get(kind="driver_age")
        draw = draw_cars(by=official, event=meeting.event, seed="4711", count=1, purpose="Fuel")
        tech_reading = measure_car(
            by=official,
            entry=meeting.entry,
            measure=Measure.objects.get(pk="wheelbase"),
            spot="left",
            length=typed(Kind.LENGTH, "46 1/4"),
        )
        scale_check = check_scales(
            by=official,
            scale_set=meeting.platform,
            loads=[LoadRead("car", typed(Kind.MASS, "100 kg"), typed(Kind.MASS, "100 kg"))],
            pads_level=True,
        )
    with viewing_as(steward.pk):
        next_event = plan_event(
            by=steward,
            club=people.club,
            track=meeting.track,
            name="July Meeting",
            starts_on=date(2026, 7, 4),
            ends_on=date(2026, 7, 5),
        )
        next_class = add_event_class(by=steward, event=next_event, race_class=meeting.race_class)
        meeting.event = publish_findings(by=steward, event=meeting.event)
    return World(
        people=people,
        writer=writer,
        coder=coder,
        chassis=garage.chassis,
        mount=mount,
        shelf=shelf,
        baseline=garage.baseline,
        baseline_value=value,
        draft=draft,
        draft_value=draft_value,
        car=garage.car,
        plain_car=plain_car,
        free_car=free_car,
        ownership=ownership,
        sheet=sheet,
        closed=closed,
        was_set=was_set,
        reading=reading,
        change=change,
        comment=remark,
        import_draft=import_draft,
        import_columns=import_columns,
        advice=advice,
        school_day=school_day,
        outing=outing,
        advice_reply=advice_reply,
        handover=handover,
        handover_code=handover_code,
        handed=handed,
        plan=plan,
        reset=reset,
        twice=twice,
        part=part,
        code=code,
        driver=meeting.driver,
        birth=birth,
        weight=weight,
        track=meeting.track,
        race_class=meeting.race_class,
        rule_set=meeting.rule_set,
        rule_draft=rule_draft,
        rule=rule,
        age_rule=age_rule,
        meeting=meeting,
        weigh_in=weigh_in,
        voided=voided,
        void=void,
        check=check,
        photo=photo,
        finding=finding,
        invitation=invitation,
        club_invitation=club_invitation,
        job=job,
        export=export,
        imported=imported,
        token=token,
        spare_driver=spare_driver,
        spare_part=spare_part,
        spare_class=spare_class,
        scale_check=scale_check,
        tech_reading=tech_reading,
        draw=draw,
        withdrawn=withdrawn,
        **_suggestions(people),
        **at_the_track(people, garage.car, change.sheet, withdrawn, part),
        part_start=part_start,
        part_limit=part_limit,
        club_limit=club_limit,
        fitted=fitted,
        own_target=own_target,
        target=target,
        bench=bench,
        next_event=next_event,
        next_class=next_class,
        secret=secret,
        other_track=other_track,
        other_class=other_class,
    )
