"""Who may read, add, change and remove what, as the database holds it.

The table is the rule, written by hand. Each cell is tried as the restricted role, through the ORM,
around every check that an action makes.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, models
from django.utils import timezone

from cars.models import ClosedFigures, Comparison, Measure, Sheet, SheetTargetSource, Step
from clubsetup.access.ids import new_id
from clubsetup.access.models import IdempotencyKey, ResetCode, TrailLine, User
from clubsetup.access.reset_codes import make_reset_code
from clubsetup.access.row_security import RowSecurity
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.models import PrintJob, StoredPrint
from events.models import AgeAnswer
from events.models.record_chain import InChain, RecordChain, RecordLine
from events.queries.facts import answer_age
from teams.models import ClubMember, CoachLink, TeamMember
from tests.clocks import database_at
from tests.events.meeting import ON_THE_DAY
from tests.guards.world import World, refused, undone, walk_in_entry
from tests.owner import as_owner
from tests.people import account_of

# r reads, a adds a row like it, c changes it, d removes it.
# Coaches: `coach` is linked to the Wrens; `writer` too, and may write; `coder` too, and may see
# codes; `unlinked` is not. `rival` is chief of another team of the club.
PEOPLE = [
    *("chief", "crew", "guest", "coach", "writer", "coder", "unlinked", "official"),
    *("other_official", "steward", "other_steward", "rival", "stranger", "nobody"),
]
TABLE = """
                chie crew gues coac writ code unli offi off2 stew ste2 riva stra nob
club            ra   ra   ra   ra   ra   ra   ra   ra   a    rac  a    ra   a    -
club_member     r    r    r    r    r    r    rd   r    -    rad  -    r    -    -
team            rc   r    r    r    r    r    r    r    -    rac  -    r    -    -
team_member     racd r    rd   r    r    r    -    -    -    r    -    -    -    -
coach_link      racd r    r    rd   -    -    -    -    -    r    -    -    -    -
invitation      rac  -    -    -    -    -    -    -    -    rc   -    -    -    -
club_invitation -    -    -    -    -    -    -    -    -    rac  -    -    -    -
track           r    r    r    r    r    r    r    r    -    rac  -    r    -    -
race_class      r    r    r    r    r    r    r    r    -    ra   -    r    -    -
driver          rac  rac  r    r    r    r    -    -    -    -    -    -    -    -
birth           racd racd -    -    -    -    -    -    -    -    -    -    -    -
weight          rad  rad  -    r    r    r    -    -    -    -    -    -    -    -

chassis         r    r    r    r    r    r    r    r    -    rac  -    r    -    -
mount           r    r    r    r    r    r    r    r    -    ra   -    r    -    -
baseline        r    r    r    r    r    r    r    r    -    rac  -    r    -    -
draft           -    -    -    -    -    -    -    -    -    rac  -    -    -    -
draft_value     -    -    -    -    -    -    -    -    -    racd -    -    -    -
car             rac  rac  r    r    r    r    -    -    -    -    -    -    -    -
ownership       ra   ra   r    r    r    r    -    -    -    -    -    -    -    -
sheet           rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
reading         rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
closed_figures  ra   ra   r    r    ra   r    -    -    -    -    -    -    -    -
change          ra   ra   r    r    ra   r    -    -    -    -    -    -    -    -
target_source   ra   ra   r    r    ra   r    -    -    -    -    -    -    -    -
imported        ra   ra   -    -    -    -    -    -    -    -    -    -    -    -
import          rac  rac  -    -    -    -    -    -    -    -    -    -    -    -
import_columns  rac  rac  -    -    -    -    -    -    -    -    -    -    -    -
comparison      ra   a    a    a    a    a    -    -    -    -    -    -    -    -
comment         ra   ra   r    ra   ra   ra   -    -    -    -    -    -    -    -
advice          rc   rc   r    rac  ra   ra   -    -    -    -    -    -    -    -
school_day      r    r    r    racd ra   ra   a    -    -    -    -    -    -    -
outing          r    r    r    racd r    r    -    -    -    -    -    -    -    -
handover        rac  -    -    -    -    -    -    -    -    -    -    -    -    -
handed          ra   ra   r    r    r    r    -    -    -    -    -    -    -    -
handed_run      ra   ra   r    r    r    r    -    -    -    -    -    -    -    -
advice_reply    ra   ra   r    r    r    r    -    -    -    -    -    -    -    -
plan            ra   ra   r    r    ra   r    -    -    -    -    -    -    -    -
reset           ra   ra   r    r    r    r    -    -    -    -    -    -    -    -
run             rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
run_details     rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
feel            rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
laps            rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
weather         rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
track_change    rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
track_reading   rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
club_table      r    r    r    r    r    r    r    r    -    rac  -    r    -    -
club_draft      -    -    -    -    -    -    -    -    -    racd -    -    -    -
club_draft_row  -    -    -    -    -    -    -    -    -    racd -    -    -    -
team_draft      racd racd r    r    r    r    -    -    -    -    -    -    -    -
team_draft_row  racd racd r    r    r    r    -    -    -    -    -    -    -    -
coach_table     r    r    r    rac  -    -    -    -    -    -    -    -    -    -
coach_row       r    r    r    r    -    -    -    -    -    -    -    -    -    -
run_reading     rac  rac  r    r    rac  r    -    -    -    -    -    -    -    -
run_part        rac  rac  r    -    -    r    -    -    -    -    -    -    -    -
own_target      rac  rac  r    r    r    r    -    -    -    -    -    -    -    -
part_start      rac  rac  r    -    -    r    -    -    -    -    -    -    -    -
part_limit      rac  rac  r    -    -    r    -    -    -    -    -    -    -    -
club_limit      r    r    r    r    r    r    r    r    -    rac  -    r    -    -
fitted          rac  rac  r    -    -    r    -    -    -    -    -    -    -    -
part            ra   ra   r    -    -    r    -    -    -    -    -    -    -    -
code            racd racd r    -    -    r    -    -    -    -    -    -    -    -
piece           rac  rac  r    r    r    r    -    r    -    -    -    -    -    -

rule_set        r    r    r    r    r    r    r    r    -    rac  -    r    -    -
rule            r    r    r    r    r    r    r    r    -    racd -    r    -    -
event           r    r    r    r    r    r    r    r    -    rac  -    r    -    -
event_class     r    r    r    r    r    r    r    r    -    rad  -    r    -    -
scale_set       r    r    r    r    r    r    r    r    -    rac  -    r    -    -
scale_check     r    r    r    r    r    r    r    ra   -    r    -    r    -    -
entry           rac  rac  r    r    r    r    -    rc   -    rc   -    -    -    -
walk_in_entry   rc   rc   r    r    r    r    -    rac  -    rac  -    -    -    -
entry_run       rac  rac  r    r    r    r    -    -    -    -    -    -    -    -
age_answer      r    r    -    -    -    -    -    r    -    -    -    -    -    -
weigh_in        r    r    r    r    r    r    -    ra   -    r    -    -    -    -
check           r    r    r    r    r    r    -    ra   -    r    -    -    -    -
photo           r    r    r    r    r    r    -    ra   -    r    -    -    -    -
draw            r    r    r    r    r    r    r    ra   -    r    -    r    -    -
tech_reading    r    r    r    r    r    r    -    ra   -    r    -    -    -    -
finding         r    r    r    r    r    r    -    ra   -    r    -    -    -    -
void            r    r    r    r    r    r    -    ra   -    r    -    -    -    -
record_chain    -    -    -    -    -    -    -    r    -    r    -    -    -    -
record_line     -    -    -    -    -    -    -    r    -    r    -    -    -    -

token           rac  -    -    -    -    -    -    -    -    -    -    -    -    -
sign_in         racd -    -    -    -    -    -    -    -    -    -    -    -    -
reset_code      r    -    -    -    -    -    -    -    -    -    -    -    -    -
idempotency_key ra   -    -    -    -    -    -    -    -    -    -    -    -    -
job             rac  -    -    -    -    -    -    -    -    -    -    -    -    -
stored          r    -    -    -    -    -    -    -    -    -    -    -    -    -
team_trail      ra   ra   ra   a    a    a    -    -    -    -    -    -    -    -
club_trail      a    a    a    a    a    a    a    a    -    ra   -    a    -    -
step            r    r    r    r    r    r    r    r    r    r    r    r    r    r
measure         r    r    r    r    r    r    r    r    r    r    r    r    r    r
"""
MAY: dict[str, dict[str, str]] = {
    line.split()[0]: dict(zip(PEOPLE, line.split()[1:], strict=True))
    for line in TABLE.splitlines()
    if line.strip() and not line.startswith(" ")
}


@dataclass
class Noun:
    """One row to try: how to find it, what a copy must have of its own, and a change to it."""

    row: Callable[[World], models.Model]
    own: dict[str, Any] = field(default_factory=dict)
    change: dict[str, Any] = field(default_factory=dict)
    by: str = ""  # the column of whoever adds it


def _first(model: type[models.Model], **known: str) -> Callable[[World], models.Model]:
    """The row of the chief's own that the world does not name."""

    def find(w: World) -> models.Model:
        with viewing_as(w.people.chief.pk):
            return model._default_manager.filter(
                **{key: getattr(w.people, name) for key, name in known.items()}
            )[0]

    return find


def _idempotency_key(w: World) -> models.Model:
    with viewing_as(w.people.chief.pk):
        return IdempotencyKey.objects.create(by=w.people.chief, digest="0" * 64)


def _reset_code(w: World) -> models.Model:
    with viewing_as(w.people.chief.pk):
        make_reset_code(by=w.people.chief, who=w.people.guest)
        return ResetCode.objects.get()


def _stored(w: World) -> models.Model:
    """The print of the chief's job, noted as a worker notes it."""
    held: dict[str, Any] = {"state": "working", "lease": new_id(), "leased_until": timezone.now()}
    with viewing_as(w.people.chief.pk), connection.cursor() as cursor:
        PrintJob.objects.filter(pk=w.job.pk).update(**held)
        cursor.execute(
            "SELECT access.finish_print_job(%s, %s, %s, 10, 1, now())",
            [w.job.pk, held["lease"], b"all that it was made from"],
        )
        assert cursor.fetchone() == (True,)
        return StoredPrint.objects.get()


def _target_source(w: World) -> models.Model:
    with viewing_as(w.people.chief.pk):
        return SheetTargetSource.objects.get(sheet=w.bench)


def _comparison(w: World) -> models.Model:
    """The chief's, of two sheets of the team."""
    with viewing_as(w.people.chief.pk):
        sheets = [w.sheet.pk, w.bench.pk]
        row = Comparison.objects.get_or_create(by=w.people.chief, sheets=sheets)[0]
    row.sheets = sheets[::-1]  # a copy is another comparison
    return row


def _closed_figures(w: World) -> models.Model:
    """Those of the closed sheet; another one is closed that has none."""
    with viewing_as(w.people.chief.pk):
        closed = {"state": "closed", "closed_at": timezone.now(), "closed_by": w.people.chief}
        Sheet.objects.filter(pk=w.bench.pk).update(**closed)
        return ClosedFigures.objects.get(sheet=w.closed)


def _trail(w: World, **of: Any) -> models.Model:
    """A line by somebody who has left since: one's own lines one always reads."""
    gone = account_of("gone@example.org") or User.objects.create_user("gone@example.org")
    line = TrailLine(by=gone, did="tried", on_kind="x", on_id=new_id(), **of)
    columns = "id, created_at, by_id, did, on_kind, on_id, club_id, team_id, detail"
    as_owner(
        f"INSERT INTO access_trailline ({columns}) "
        "VALUES (%s, now(), %s, %s, %s, %s, %s, %s, '{}')",
        *(line.pk, gone.pk, line.did, line.on_kind, line.on_id, line.club_id, line.team_id),
    )
    return line


def _of_the_chain(model: type[models.Model]) -> Callable[[World], models.Model]:
    def find(w: World) -> models.Model:
        with viewing_as(w.people.official.pk):
            return model._default_manager.order_by("pk")[0]

    return find


def _age_answer(w: World) -> models.Model:
    with viewing_as(w.people.official.pk), database_at(ON_THE_DAY):
        assert answer_age(w.meeting.entry.pk)
        return AgeAnswer.objects.get()


STRANGER = "stranger"
# Of a row that another replaces, so that of two one stands.
REPLACED: dict[str, Any] = {"replaced_at": timezone.now(), "replaced_by": "chief"}
RETIRED: dict[str, Any] = {"state": "retired", "version": 9}
NOUNS = {
    "club": Noun(
        lambda w: w.people.club,
        {"name": "New", "short_name": "new"},
        {"time_zone": "UTC"},
        "founder",
    ),
    "club_member": Noun(_first(ClubMember, user="unlinked_coach"), {"user": STRANGER}),
    "team": Noun(lambda w: w.people.team, {"name": "New"}, {"name": "Other"}),
    "team_member": Noun(_first(TeamMember, user="guest"), {"user": STRANGER}, {"role": "crew"}),
    "coach_link": Noun(
        _first(CoachLink, coach="coach"), {"coach": "unlinked_coach"}, {"may_write": True}
    ),
    "invitation": Noun(
        lambda w: w.invitation, {"digest": "1" * 64}, {"withdrawn_at": timezone.now()}, "invited_by"
    ),
    "club_invitation": Noun(
        lambda w: w.club_invitation,
        {"digest": "2" * 64},
        {"withdrawn_at": timezone.now()},
        "invited_by",
    ),
    "track": Noun(lambda w: w.track, {"name": "New"}, {"name": "Other"}),
    "race_class": Noun(lambda w: w.race_class, {"name": "New"}),
    "driver": Noun(lambda w: w.driver, {"display_name": "New"}, {"display_name": "Other"}),
    "birth": Noun(lambda w: w.birth, {"driver": "spare_driver"}, {"birth_date": date(2015, 1, 1)}),
    "weight": Noun(lambda w: w.weight),
    "chassis": Noun(lambda w: w.chassis, {"name": "New"}, {"name": "Other"}),
    "mount": Noun(lambda w: w.mount, {"name": "New"}),
    "baseline": Noun(lambda w: w.baseline, RETIRED, {"state": "retired"}),
    "draft": Noun(lambda w: w.draft, {"version": 9}, {"note": "Other"}),
    "draft_value": Noun(lambda w: w.draft_value, {"spot": "right"}, {"where": "Other"}),
    "car": Noun(lambda w: w.car, {"number": "99"}, {"name": "Other"}),
    "ownership": Noun(lambda w: w.ownership, {"until": date(2026, 1, 1), "chassis": "chassis"}),
    "sheet": Noun(lambda w: w.sheet, {}, {"note": "Other"}, "opened_by"),
    "reading": Noun(
        lambda w: w.reading,
        {"take": 9},
        {"replaced_at": timezone.now(), "replaced_by": "chief"},
        "by",
    ),
    "change": Noun(lambda w: w.change, by="by"),
    "closed_figures": Noun(_closed_figures, {"sheet": "bench"}),
    "comparison": Noun(_comparison, by="by"),
    "import": Noun(lambda w: w.import_draft, {}, {"problem": "Other"}, "by"),
    "import_columns": Noun(lambda w: w.import_columns, {"kind": "sheets"}, {"places": {}}),
    "imported": Noun(lambda w: w.imported, {"digest": "9" * 64}, by="by"),
    "target_source": Noun(_target_source, {"sheet": "sheet"}),
    "comment": Noun(lambda w: w.comment, by="by"),
    "advice": Noun(lambda w: w.advice, {}, {"done_at": timezone.now(), "done_by": "chief"}, "by"),
    "school_day": Noun(lambda w: w.school_day, {}, {"note": "Bring a helmet."}, "by"),
    "outing": Noun(lambda w: w.outing, {"order": 9}, {"note": "Six laps."}),
    # The crew's: what a coach may answer stands in tests/cars/history.
    "advice_reply": Noun(lambda w: w.advice_reply, by="by"),
    "handover": Noun(
        lambda w: w.handover,
        {"digest": "0" * 64, "withdrawn_at": timezone.now()},
        {"withdrawn_at": timezone.now()},
        "by",
    ),
    "handed": Noun(lambda w: w.handed, {"sheet": "bench"}),
    "handed_run": Noun(lambda w: w.handed_run, {"run": "spare_run"}),
    "plan": Noun(lambda w: w.plan, by="by"),
    "reset": Noun(lambda w: w.reset, by="by"),
    "run": Noun(lambda w: w.run, {}, {"ran_at": timezone.now()}, "by"),
    "run_details": Noun(lambda w: w.run_details, REPLACED, REPLACED, "by"),
    "feel": Noun(lambda w: w.feel, REPLACED, REPLACED, "by"),
    "laps": Noun(lambda w: w.laps, REPLACED, REPLACED, "by"),
    "weather": Noun(lambda w: w.weather, {}, REPLACED, "by"),
    "track_change": Noun(
        lambda w: w.track_change,
        {},
        {"taken_back_at": timezone.now(), "taken_back_by": "chief"},
        "by",
    ),
    "track_reading": Noun(lambda w: w.track_reading, {}, REPLACED, "by"),
    "club_table": Noun(lambda w: w.club_table, RETIRED, {"state": "retired"}),
    "club_draft": Noun(lambda w: w.club_draft, {"version": 9}, {"note": "Other"}),
    "club_draft_row": Noun(lambda w: w.club_draft_row, {"spot": "LR"}, {"why": "Other"}),
    "team_draft": Noun(lambda w: w.team_draft, {"version": 9}, {"note": "Other"}),
    "team_draft_row": Noun(lambda w: w.team_draft_row, {"spot": "LR"}, {"why": "Other"}),
    "coach_table": Noun(lambda w: w.coach_table, RETIRED, {"state": "retired"}),
    "coach_row": Noun(lambda w: w.coach_row, {"spot": "LR"}, {"why": "Other"}),
    "run_reading": Noun(lambda w: w.run_reading, REPLACED, REPLACED, "by"),
    "run_part": Noun(lambda w: w.run_part, REPLACED, REPLACED, "by"),
    "part_start": Noun(lambda w: w.part_start, REPLACED, REPLACED, "by"),
    "part_limit": Noun(lambda w: w.part_limit, REPLACED, REPLACED, "by"),
    "club_limit": Noun(lambda w: w.club_limit, REPLACED, REPLACED, "by"),
    "own_target": Noun(
        lambda w: w.own_target,
        {"spot": "right"},
        {"replaced_at": timezone.now(), "replaced_by": "chief"},
        "by",
    ),
    "fitted": Noun(
        lambda w: w.fitted,
        {"spot": "RF"},
        {"replaced_at": timezone.now(), "replaced_by": "chief"},
        "by",
    ),
    "part": Noun(lambda w: w.part),
    "code": Noun(lambda w: w.code, {"part": "spare_part", "code": "N-1"}, {"note": "Other"}),
    "piece": Noun(lambda w: w.meeting.piece, {}, {"retired_at": timezone.now()}),
    "rule_set": Noun(lambda w: w.rule_draft, {"version": 9}, {"valid_from": date(2028, 1, 1)}),
    "rule": Noun(lambda w: w.rule, {"order": 9}, {"parameters": {}}),
    "event": Noun(lambda w: w.meeting.event, {}, {"findings_published": False}),
    "event_class": Noun(lambda w: w.meeting.event_class, {"race_class": "spare_class"}),
    "scale_set": Noun(lambda w: w.meeting.scales, {"name": "New"}, {"apply_corrections": True}),
    "scale_check": Noun(lambda w: w.scale_check, by="by"),
    "entry": Noun(
        lambda w: w.meeting.entry,
        {"number": "99", "car": "car"},
        {"number": "98"},
        "confirmed_by",
    ),
    "walk_in_entry": Noun(walk_in_entry, {"number": "99", "car": "car"}, {"number": "98"}),
    "entry_run": Noun(lambda w: w.entry_run, REPLACED, REPLACED, "by"),
    "age_answer": Noun(_age_answer),
    "weigh_in": Noun(lambda w: w.weigh_in, by="by"),
    "draw": Noun(lambda w: w.draw, {"seed": "4712"}, by="by"),
    "tech_reading": Noun(lambda w: w.tech_reading, by="by"),
    "check": Noun(lambda w: w.check, by="by"),
    "photo": Noun(lambda w: w.photo, {"number": 2}, by="by"),
    "finding": Noun(lambda w: w.finding, {"batch": new_id()}, by="by"),
    "void": Noun(lambda w: w.void, {"weigh_in": "weigh_in"}, by="by"),
    "record_chain": Noun(_of_the_chain(RecordChain)),
    "record_line": Noun(_of_the_chain(RecordLine), {"place": 10**6}),
    "sign_in": Noun(lambda w: w.sign_in(), {"digest": "5" * 64}, {"wrong_codes": 0}),
    "reset_code": Noun(_reset_code, {"digest": "6" * 64}, {"used_at": None}),
    "token": Noun(lambda w: w.token, {"digest": "3" * 64}, {"ended_at": timezone.now()}),
    "idempotency_key": Noun(_idempotency_key),
    "job": Noun(lambda w: w.job, {}, {"attempts": 1}),
    "stored": Noun(_stored, {"digest": "b" * 64}),
    "team_trail": Noun(lambda w: _trail(w, team_id=w.people.team.pk), by="by"),
    "club_trail": Noun(lambda w: _trail(w, club_id=w.people.club.pk), by="by"),
    "step": Noun(lambda w: Step.objects.all()[0], {"slug": "new", "order": 99}, {"name": "Other"}),
    "measure": Noun(
        lambda w: Measure.objects.all()[0], {"slug": "new", "order": 99}, {"name": "Other"}
    ),
}


def known(w: World, model: type[models.Model], given: dict[str, Any]) -> dict[str, Any]:
    """`given` with the world's rows in place of their names."""
    columns = {f.name for f in model._meta.fields if f.is_relation}
    return {
        name: (getattr(w, value, None) or getattr(w.people, value)) if name in columns else value
        for name, value in given.items()
    }


def copy_of(w: World, noun: Noun, row: models.Model, who: User | None) -> models.Model:
    """A row like it, with an id of its own, made by `who`."""
    model = type(row)
    copy = model()
    for column in model._meta.concrete_fields:
        setattr(copy, column.attname, getattr(row, column.attname))
    if isinstance(model._meta.pk, models.UUIDField):
        copy.pk = new_id()
    for name, value in known(w, model, noun.own).items():
        setattr(copy, name, value)
    if noun.by and who is not None:
        setattr(copy, noun.by, who)
    return copy


def changes(rows: models.QuerySet[Any], given: dict[str, Any]) -> bool:
    """Whether an UPDATE reaches the row."""
    count = 0

    def attempt() -> None:
        nonlocal count
        count = rows.update(**given)

    return not refused(attempt) and count == 1


def removes(rows: models.QuerySet[Any]) -> bool:
    """Whether a bare DELETE reaches the row; what hangs on it is another question."""
    count = 0

    def attempt() -> None:
        nonlocal count
        count = rows._raw_delete("default")

    return not refused(attempt, whole=False) and count == 1


def is_in_chain(row: models.Model) -> bool:
    """Whether a row like it needs its line in an event's chain."""
    return any(isinstance(one, InChain) for one in row._meta.constraints)


def found_out(w: World, noun: Noun, row: models.Model, who: User | None) -> str:
    """What `who` can really do with the row, in the letters of the table."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    change = known(w, type(row), noun.change) or {"created_at": timezone.now()}
    with viewing_as(who.pk if who else None):
        copy = copy_of(w, noun, row, who)
        done = {
            "r": rows.exists(),
            # Past the chain nobody adds a record: at the commit the database refuses it
            # (tests/events/test_record_chain.py). Here it is asked what the policy says.
            "a": not refused(lambda: copy.save(force_insert=True), whole=not is_in_chain(row)),
            "c": changes(rows, change),
            "d": removes(rows),
        }
    return "".join(letter for letter, may in done.items() if may) or "-"


def test_the_table_names_every_noun(world: World) -> None:
    """Every secured table is in it; a new one fails here until somebody has said who may what."""
    assert set(MAY) == set(NOUNS)
    secured = {
        m for m in apps.get_models() if any(isinstance(c, RowSecurity) for c in m._meta.constraints)
    }
    with undone():
        tried = {type(noun.row(world)) for noun in NOUNS.values()}
    assert secured <= tried


@pytest.mark.parametrize("name", NOUNS)
def test_who_may_read_add_change_and_remove(name: str, world: World) -> None:
    with undone():
        row = NOUNS[name].row(world)
        found = {
            person: found_out(world, NOUNS[name], row, who) for person, who in world.who().items()
        }
    assert found == MAY[name]
