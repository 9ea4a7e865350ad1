"""Findings: every rule the event froze, on everything that stands, kept for good.

Whatever changes the evidence (a weigh-in, a ballast check, a void) finds again in the same
transaction; the newest batch of an entry stands and the earlier ones stay as they were.
"""

from datetime import datetime
from typing import Any

from clubsetup.access.actions import record
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from events.models import Entry, Finding, Rule, RuleSet
from events.queries.ages import AGE
from events.queries.facts import Evidence, answer_age, evidence_for
from events.rules import DecisionRule, Outcome, RuleKind, RuleResult, Stage, rule_from
from events.rules.changed import WeighAgain

# Of several weighings that a rule speaks of, the worst decides.
WORST = [Outcome.FAILS, Outcome.TOO_CLOSE, Outcome.MEETS, Outcome.NOT_CHECKED]


def find_again(*, by: User, entry: Entry, device_at: datetime | None = None) -> list[Finding]:
    """Part of an official's action (its check has been made): finds on what stands now.

    The action enters the findings in the event's chain, behind what they were found on. Of the
    driver's age there is none: findings and the chain are read by more people than may know it.
    """
    answer_age(entry.pk)
    rule_set = entry.event_class.rule_set
    evidence = evidence_for(entry)
    newest = max(
        (w for e in evidence if e.weighed for w in e.weighed.weigh_ins),
        key=lambda w: w.created_at,
        default=None,
    )
    batch, units = new_id(), entry.club.units()
    findings = [
        Finding(
            entry=entry,
            club_id=entry.club_id,
            team_id=entry.team_id,
            by=by,
            device_at=device_at,
            batch=batch,
            rule=rule,
            weigh_in=newest,
            **finding_fields(entry, rule, rule_set, evidence, units),
        )
        for rule in rule_set.rules.exclude(kind=AGE)
    ]
    Finding.objects.bulk_create(findings)
    record(
        by=by,
        did="found",
        on=entry,
        club_id=entry.club_id,
        batch=str(batch),
        outcomes={str(f.rule_id): f.outcome for f in findings},
    )
    return findings


def finding_fields(
    entry: Entry, rule: Rule, rule_set: RuleSet, evidence: list[Evidence], units: Units
) -> dict[str, Any]:
    """What one rule says: outcome, words, sentence and evidence, as a finding keeps them."""
    declared = rule_from(rule.kind, rule.parameters)
    results = [(_check(declared, one, rule_set.decision, units), one) for one in evidence]
    result, rests_on = min(_last_word(results), key=lambda pair: _rank(pair[0]))
    return {
        "outcome": str(result.outcome),
        "rule_words": declared.words(units)[:200],
        "sentence": result.sentence[:400],
        "evidence": {
            **_figures(declared, result),
            **_records(rests_on),
            "decision": rule_set.decision,
        },
    }


def _figures(declared: RuleKind, result: RuleResult) -> dict[str, Any]:
    """The figures, and what kind of quantity they are, so that a page can write them."""
    figures: dict[str, Any] = dict(result.evidence())
    if figures:
        quantities = (p.quantity for p in declared.parameters().values() if p.quantity)
        figures["quantity"] = str(next(quantities, ""))
    return figures


def _check(declared: RuleKind, one: Evidence, decision: str, units: Units) -> RuleResult:
    return declared.check(one.facts, DecisionRule(decision), units)


def _last_word(results: list[tuple[RuleResult, Evidence]]) -> list[tuple[RuleResult, Evidence]]:
    """Without what was to be weighed again before the race where the car met the rule after it."""
    met = [_newest(one) for result, one in results if _met_after_race(result, one)]
    return [
        (result, one)
        for result, one in results
        if not (isinstance(result, WeighAgain) and any(_newest(one) < later for later in met))
    ]


def _met_after_race(result: RuleResult, one: Evidence) -> bool:
    return result.outcome is Outcome.MEETS and one.facts.stage is Stage.AFTER


def _newest(one: Evidence) -> datetime:
    assert one.weighed  # noqa: S101 (of what was weighed only)
    return max(weigh_in.created_at for weigh_in in one.weighed.weigh_ins)


def _rank(result: RuleResult) -> tuple[float, float]:
    worse: float = WORST.index(result.outcome)
    if isinstance(result, WeighAgain):
        worse = WORST.index(Outcome.MEETS) - 0.5  # before what meets in another state of the car
    return worse, result.margin if result.margin is not None else 0.0


def _records(one: Evidence) -> dict[str, Any]:
    """Which records the finding rests on, for whoever protests it."""
    weighed = one.weighed
    return {
        "stage": weighed.stage if weighed else None,
        "driver_in": weighed.driver_in if weighed else None,
        "tank_empty": weighed.tank_empty if weighed else None,
        "scales": (weighed.scales or "passed") if weighed else None,
        "weigh_ins": [str(w.pk) for w in weighed.weigh_ins] if weighed else [],
        # What the newest of them is, and what has changed the car's mass since this one.
        "after_race": one.after_race,
        "changed": one.facts.changed,
        "ballast_checks": [str(check.pk) for check in (*one.ballast.looks, *one.ballast.off)],
        "listed": list(one.listed),
        "tech_readings": [str(reading.pk) for reading in one.readings],
    }
