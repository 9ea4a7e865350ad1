"""An event from before records had lines: every row under a fixed id and at a fixed time.

The files in tests/events/exports/ were written of these rows by the last version that built the
lines from the columns. The rows go in through models as a migration sees them, by the owner.
"""

import hashlib
from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID

EXPORTS = Path(__file__).parent / "exports"
PICTURE = b"a picture, as far as a hash is concerned"
ZONE = "America/Chicago"  # five hours behind UTC on these days


def uid(number: int) -> UUID:
    """An id as they are made, with a number that says which row it is."""
    return UUID(int=(0x019880000000 << 80) | (0x7000 << 64) | (0x8000 << 48) | number)


EVENT, EMPTY_EVENT, CLUB = uid(20), uid(21), uid(1)


def printed(name: str = "printed") -> str:
    """The last hash in the record book that was printed of it."""
    return (EXPORTS / f"{name}.txt").read_text().strip()


def at(text: str) -> datetime:
    """'09 13:05:01.000002', of August 2025, UTC."""
    return datetime.fromisoformat(f"2025-08-{text}").replace(tzinfo=UTC)


class Filling:
    """Makes rows with the models that `model` finds, on one connection."""

    def __init__(self, model: Callable[[str, str], Any], using: str) -> None:
        self.model, self.using = model, using

    def add(self, model: str, number: int, when: str = "01 08:00:00", /, **fields: Any) -> Any:
        """One row, at its time."""
        manager = self.model(*model.split("."))._default_manager.using(self.using)
        row = manager.create(pk=uid(number), **fields)
        if hasattr(row, "created_at"):
            manager.filter(pk=row.pk).update(created_at=at(when))
        return row


def fill(model: Callable[[str, str], Any], using: str) -> None:
    """All of it."""
    kept = Filling(model, using)
    entries = _club(kept)
    _scale_checks(kept)
    _records(kept, *entries)


def _club(kept: Filling) -> tuple[dict[str, Any], dict[str, Any]]:
    for number, name in ((2, "Ossian Ä."), (3, "Maren"), (4, "Isa")):
        kept.add("access.User", number, email=f"{number}@example.org", name=name, password="!")
    club = {"club_id": kept.add("teams.Club", 1, **_club_row()).pk}
    for number, role in ((2, "official"), (3, "steward")):
        kept.add("teams.ClubMember", 4 + number, user_id=uid(number), role=role, **club)
    kept.add("teams.Team", 10, name="Wrens", **club)
    kept.add("teams.Driver", 11, team_id=uid(10), display_name="Robin")
    kept.add("teams.Track", 12, name="Fern Oval", surface="paved", **club)
    kept.add("teams.RaceClass", 13, name="Junior", **club)
    kept.add("cars.Chassis", 14, name="Wisp", **club)
    for number in (15, 16):
        kept.add("cars.Car", number, team_id=uid(10), chassis_id=uid(14), number=str(number))
    kept.add("events.RuleSet", 17, race_class_id=uid(13), version=1, **_from(), **club)
    limits = {"minimum_weight": {"minimum": "145.1495584"}, "left_limit": {"at_most": "58"}}
    for number, (kind, given) in enumerate(limits.items(), start=18):
        rule = {"rule_set_id": uid(17), "order": number, "kind": kind, "parameters": given}
        kept.add("events.Rule", number, **rule, **club)
    days = {"starts_on": date(2025, 8, 9), "ends_on": date(2025, 8, 10), "track_id": uid(12)}
    kept.add("events.Event", 20, name="August Meeting", state="over", **days, **club)
    later = {"starts_on": date(2027, 8, 9), "ends_on": date(2027, 8, 10), "track_id": uid(12)}
    kept.add("events.Event", 21, name="The year after next", state="planned", **later, **club)
    kinds = {"event_id": EVENT, "race_class_id": uid(13), "rule_set_id": uid(17)}
    kept.add("events.EventClass", 22, **kinds, **club)
    named = {"event_id": EVENT, "event_class_id": uid(22), "driver_id": uid(11)}
    for number, car, name in ((23, 15, "Robin"), (24, 16, "=Sky")):
        entry = {"team_id": uid(10), "car_id": uid(car), "number": str(car), "display_name": name}
        kept.add("events.Entry", number, **entry, **named, **club)
    pads = {"name": "Four pads", "division": Decimal("0.090718474"), "division_typed": "0.2 lb"}
    kept.add("events.ScaleSet", 25, **pads, **club)
    of = {"team_id": uid(10), "by_id": uid(2), **club}
    return {"entry_id": uid(23), **of}, {"entry_id": uid(24), **of}


def _club_row() -> dict[str, Any]:
    return {
        "name": "Fernbank Oval Club",
        "short_name": "fernbank",
        "founder_id": uid(3),
        "time_zone": ZONE,
    }


def _from() -> dict[str, Any]:
    return {"valid_from": date(2025, 1, 1), "decision": "reading"}


def _scale_checks(kept: Filling) -> None:
    """Two that belong to it by the weigh-in that rests on them or by the club's day, and three
    that do not: the day before (a weigh-in rests on it), the evening before (already its first day
    by UTC), noon, the last evening (the day after by UTC), the day after."""
    whens = {
        30: "08 20:00:00",
        31: "09 04:30:00.000001",
        32: "09 17:00:00.5",
        33: "11 03:00:00",
        34: "11 05:30:00",
    }
    load: dict[str, Any] = {
        "pad": "LF",
        "reference": "36.2873896",
        "indicated": "36.2873896",
        "added": None,
    }
    load |= {"error": "0.000000000", "allowed": "0.090718474", "u": "0.026188000"}
    load |= {"within": True, "typed": {"reference": "80 lb", "indicated": "80"}}
    for number, when in whens.items():
        kept.add(
            "events.ScaleCheck",
            number,
            when,
            scale_set_id=uid(25),
            club_id=CLUB,
            by_id=uid(2),
            division=Decimal("0.0907184740"),
            pads_level=True,
            level_note="shimmed LR" if number == 32 else "",
            loads=[load, {**load, "pad": "RF"}],
            passed=number != 33,
        )


def _records(kept: Filling, one: dict[str, Any], other: dict[str, Any]) -> None:
    weighed = {"scale_set_id": uid(25), "stage": "entry", "u_total": Decimal("0.052376")}
    kept.add(
        "events.WeighIn",
        40,
        "09 13:05:01.000002",
        **one,
        **weighed,
        driver_in=True,
        total=Decimal("145.6031500000"),
        typed={"car": "321"},
        scale_check_id=uid(30),
        corrections={"car": "0.000000"},
        u_correction=Decimal("0.026188"),
        corrected=True,
    )
    _findings(kept, 50, "09 13:05:01.000900", one, uid(40))
    pads = dict(zip(("lf", "rf", "lr", "rr"), map(Decimal, ("40", "36.5", "38", "0")), strict=True))
    kept.add(
        "events.WeighIn",
        41,
        # At the same moment as the finding 52: the id decides.
        "09 13:06:00",
        **{**other, "device_at": at("09 12:59:59.25")},
        **{**weighed, "stage": "after"},
        driver_in=False,
        tank_empty=True,
        again=False,
        fuel_note="drained “dry”",
        **pads,
        total=Decimal("114.5"),
        typed={"LF": "40 kg", "RF": "36.5 kg", "LR": "38 kg", "RR": "0"},
    )
    _findings(kept, 52, "09 13:06:00", other, uid(41))
    looked = {"label_legible": True, "label": "15", "fixed": True, "place": "left rail"}
    mass = {"marked_mass": Decimal("1.81436948"), "typed": {"marked": "4 lb"}}
    kept.add("events.BallastCheck", 60, "09 13:10:00", **one, **looked, **mass)
    none = {"none_on_car": True, "label_legible": False, "fixed": True}
    kept.add("events.BallastCheck", 61, "09 13:11:00", **other, **none)
    photo: dict[str, Any] = {
        "picture": PICTURE,
        "small": b"small",
        "sha256": hashlib.sha256(PICTURE).hexdigest(),
    }
    photo |= {"width": 400, "height": 300, "number": 1, "ballast_check_id": uid(60)}
    kept.add("events.BallastPhoto", 62, "09 13:10:00.000001", **one, **photo)
    seed = {"seed": "three sixes", "purpose": "Ballast", "method": "SHA-256", "by_id": uid(2)}
    seed |= {"candidates": ["Junior 15", "Junior 16"], "drawn": ["Junior 16"]}
    length = {"measure_id": _measure(kept), "spot": "LF", "value": Decimal("58.7375")}
    length |= {"typed": "2 5/16", "resolution": Decimal("1.5875")}
    kept.add("events.TechReading", 65, "09 13:12:00", **one, **length)
    kept.add("events.Draw", 63, "10 15:00:00", event_id=EVENT, club_id=CLUB, **seed)
    void = {"reason": 'Another\'s, "16", weight', "weigh_in_id": uid(40)}
    kept.add("events.Void", 64, "20 09:00:00", **one, **void)


def _measure(kept: Filling) -> str:
    """One of the catalogue, made where the catalogue was not loaded."""
    steps = kept.model("cars", "Step")._default_manager.using(kept.using)
    step, _ = steps.get_or_create(slug="heights", defaults={"order": 90, "name": "Heights"})
    row = {"step": step, "order": 90, "name": "Ride height", "taken": "typed", "kind": "length"}
    measures = kept.model("cars", "Measure")._default_manager.using(kept.using)
    made, _ = measures.get_or_create(slug="ride-height", defaults={**row, "spots": ["LF"]})
    return str(made.pk)


def _findings(kept: Filling, number: int, when: str, of: dict[str, Any], weigh_in: UUID) -> None:
    evidence = {"value": 145.60315, "margin": 1e-07, "p": 1.0, "u": 0.05237600000000001, "n": 1}
    for more, outcome in ((0, "meets"), (1, "too_close")):
        kept.add(
            "events.Finding",
            number + more,
            when,
            **of,
            rule_id=uid(18 + more),
            weigh_in_id=weigh_in,
            batch=uid(number),
            outcome=outcome,
            rule_words="At least 320 lb with the driver",
            sentence="321 lb: it meets 320 lb.",
            evidence={**evidence, "weigh_ins": [str(weigh_in)], "ballast_checks": []},
        )
