"""A class's rules: drafted, filled, published for a date, retired. Published ones never change."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from events.may import check_can_keep_rules
from events.models import Rule, RuleSet
from events.rules import ParameterError, UnknownRuleKind, check_together, rule_from
from teams.models import RaceClass


@action
def draft_rule_set(
    *,
    by: User,
    race_class: RaceClass,
    valid_from: date,
    decision: str = RuleSet.Decision.READING,
    copy_of: RuleSet | None = None,
    rule_set_id: UUID | None = None,
) -> RuleSet:
    """The class's next version, empty or with the rules of an earlier one."""
    check_can_keep_rules(by, race_class)
    if decision not in RuleSet.Decision.values:
        raise Invalid("decision", "Choose how a reading near a limit is decided.")
    if copy_of is not None and copy_of.race_class_id != race_class.pk:
        raise Invalid("copy_of", "Choose a version of this class's rules.")
    last = RuleSet.objects.filter(race_class=race_class).aggregate(last=Max("version"))["last"] or 0
    rule_set = RuleSet.objects.create(
        pk=rule_set_id or new_id(),
        club_id=race_class.club_id,
        race_class=race_class,
        version=last + 1,
        valid_from=valid_from,
        decision=decision,
    )
    if copy_of is not None:
        _copy_rules(copy_of, rule_set)
    record(by=by, did="drafted", on=rule_set, club_id=rule_set.club_id, version=rule_set.version)
    return rule_set


def _copy_rules(source: RuleSet, target: RuleSet) -> None:
    Rule.objects.bulk_create(
        Rule(
            rule_set=target,
            club_id=target.club_id,
            order=rule.order,
            kind=rule.kind,
            parameters=rule.parameters,
        )
        for rule in source.rules.all()
    )


@action
def set_rule_set(*, by: User, rule_set: RuleSet, valid_from: date, decision: str) -> RuleSet:
    """Changes a draft's date and how it decides."""
    check_can_keep_rules(by, rule_set)
    refuse_unless_draft(rule_set)
    if decision not in RuleSet.Decision.values:
        raise Invalid("decision", "Choose how a reading near a limit is decided.")
    rule_set.valid_from, rule_set.decision = valid_from, decision
    rule_set.save(update_fields=["valid_from", "decision"])
    record(
        by=by,
        did="set",
        on=rule_set,
        club_id=rule_set.club_id,
        valid_from=str(valid_from),
        decision=decision,
    )
    return rule_set


@action
def add_rule(
    *,
    by: User,
    rule_set: RuleSet,
    kind: str,
    parameters: Mapping[str, Any],
    rule_id: UUID | None = None,
) -> Rule:
    """Declares one rule of a draft. Invalid names the parameter that makes no rule."""
    check_can_keep_rules(by, rule_set)
    refuse_unless_draft(rule_set)
    standing = list(rule_set.rules.all())
    try:
        declared = rule_from(kind, parameters)
        check_together([*(rule_from(r.kind, r.parameters) for r in standing), declared])
    except UnknownRuleKind as unknown:
        raise Invalid("kind", "There is no rule of this kind.") from unknown
    except ParameterError as refusal:
        raise Invalid(refusal.parameter, refusal.problem.capitalize() + ".") from refusal
    rule = Rule.objects.create(
        pk=rule_id or new_id(),
        rule_set=rule_set,
        club_id=rule_set.club_id,
        order=max((r.order for r in standing), default=0) + 1,
        kind=kind,
        parameters=declared.to_params(),
    )
    record(by=by, did="added", on=rule, club_id=rule.club_id, kind=kind, parameters=rule.parameters)
    return rule


@action
def remove_rule(*, by: User, rule: Rule) -> None:
    """Takes a rule out of a draft."""
    check_can_keep_rules(by, rule.rule_set)
    refuse_unless_draft(rule.rule_set)
    record(by=by, did="removed", on=rule, club_id=rule.club_id, kind=rule.kind)
    rule.delete()


@action
def publish_rule_set(*, by: User, rule_set: RuleSet) -> RuleSet:
    """From now on these rules stand, from their date.

    Published versions of the same or a later date can never hold again and are retired; one of an
    earlier date holds until this one's.
    """
    check_can_keep_rules(by, rule_set)
    refuse_unless_draft(rule_set)
    if not rule_set.rules.exists():
        raise WrongState("A version without a rule would let every car pass. Add a rule first.")
    replaced = RuleSet.objects.filter(
        race_class_id=rule_set.race_class_id,
        state=RuleSet.State.PUBLISHED,
        valid_from__gte=rule_set.valid_from,
    )
    for old in replaced:
        _retire(by, old)
    rule_set.state = RuleSet.State.PUBLISHED
    rule_set.published_at, rule_set.published_by = timezone.now(), by
    rule_set.save(update_fields=["state", "published_at", "published_by"])
    record(by=by, did="published", on=rule_set, club_id=rule_set.club_id, version=rule_set.version)
    return rule_set


@action
def retire_rule_set(*, by: User, rule_set: RuleSet) -> RuleSet:
    """Takes a published version out of use; events that froze it keep it."""
    check_can_keep_rules(by, rule_set)
    if rule_set.state != RuleSet.State.PUBLISHED:
        raise WrongState("Only published rules can be retired.")
    return _retire(by, rule_set)


def _retire(by: User, rule_set: RuleSet) -> RuleSet:
    rule_set.state = RuleSet.State.RETIRED
    rule_set.save(update_fields=["state"])
    record(by=by, did="retired", on=rule_set, club_id=rule_set.club_id, version=rule_set.version)
    return rule_set


def refuse_unless_draft(rule_set: RuleSet) -> None:
    """Raises WrongState once the rules are published."""
    if rule_set.state != RuleSet.State.DRAFT:
        raise WrongState("Published rules do not change. Draft the next version instead.")
