"""One entry with everything on record about it."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Prefetch

from cars.models import BallastPiece
from events.models import BallastCheck, BallastPhoto, Entry, Finding, TechReading, WeighIn
from events.models.photo import MOST_PHOTOS
from events.queries.ages import ages_of
from events.queries.ballast import EntryBallast, ballast_of
from events.queries.states import State, state_of
from events.queries.weighings import is_void

SEVERITY = [Finding.Outcome.FAILS, Finding.Outcome.TOO_CLOSE, Finding.Outcome.MEETS]


@dataclass(frozen=True)
class EntryRecord:
    """What was weighed and looked at, newest first, voided ones too, and what was found."""

    entry: Entry
    weigh_ins: list[WeighIn]
    ballast_checks: list[BallastCheck]
    tech_readings: list[TechReading]
    standing: list[Finding]
    listed: list[str]  # ids of what the team has on the car, as far as the viewer sees it
    earlier: list[list[Finding]]  # superseded batches, newest first

    @property
    def state(self) -> State:
        """Where the entry stands."""
        return state_of(self.standing)

    @property
    def judged(self) -> list[Finding]:
        """What stands and was decided, the worst first."""
        decided = [f for f in self.standing if f.outcome in SEVERITY]
        return sorted(decided, key=lambda f: SEVERITY.index(Finding.Outcome(f.outcome)))

    @property
    def unchecked(self) -> list[Finding]:
        """What stands and nobody could decide yet."""
        return [f for f in self.standing if f.outcome not in SEVERITY]

    @property
    def is_weighed(self) -> bool:
        """Whether a weigh-in stands."""
        return any(f.weigh_in_id for f in self.standing)

    @cached_property
    def ballast(self) -> EntryBallast:
        """What is on record of the ballast, put together."""
        weigh_ins = [one for one in self.weigh_ins if not is_void(one)]
        return ballast_of(self.ballast_checks, self.listed, weigh_ins)

    @property
    def pieces_seen(self) -> set[object]:
        """The ids of the team's pieces that somebody has looked at."""
        return {c.piece_id for c in self.ballast.on_car}

    @property
    def looks_unlisted(self) -> list[BallastCheck]:
        """The looks at pieces that may be on the car and are not on the team's list."""
        return [c for c in self.ballast.on_car if str(c.piece_id) not in self.listed]

    @property
    def pieces_off(self) -> set[object]:
        """The ids of the team's pieces that are on record as not on the car."""
        return {c.piece_id for c in self.ballast.off}

    @cached_property
    def may_have_a_photo(self) -> list[BallastCheck]:
        """The looks that stand and have room for another photo."""
        return [c for c in self.ballast.on_car if len(c.photos.all()) < MOST_PHOTOS]


def entry_record(entry: Entry, pieces: Iterable[BallastPiece] = ()) -> EntryRecord:
    """The record of one entry: a few queries. `pieces`: those that the team has on the car."""
    batches: dict[object, list[Finding]] = {}
    findings = entry.findings.select_related("rule", "by", "weigh_in__void")
    for finding in findings.order_by("-batch", "rule__order"):
        batches.setdefault(finding.batch, []).append(finding)
    ordered = list(batches.values())
    return EntryRecord(
        entry=entry,
        weigh_ins=list(
            entry.weighins.select_related("void__by", "by", "scale_set", "scale_check").order_by(
                "-created_at"
            )
        ),
        ballast_checks=list(
            entry.ballastchecks.select_related("void__by", "by")
            .prefetch_related(Prefetch("photos", BallastPhoto.objects.listed()))
            .order_by("-created_at")
        ),
        tech_readings=list(
            entry.techreadings.select_related("void__by", "by", "measure").order_by("-created_at")
        ),
        standing=[*(ordered[0] if ordered else []), *ages_of([entry]).get(entry.pk, [])],
        listed=[str(piece.pk) for piece in pieces],
        earlier=ordered[1:],
    )
