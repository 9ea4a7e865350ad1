"""A class's rules: drafted, filled, published for a date, retired. Published ones never change."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from events.models import Rule, RuleSet
from events.permissions import check_can_keep_rules
from events.queries.readings import lengths
from events.rules import (
    ParameterError,
    RuleKind,
    UnknownRuleKind,
    check_together,
    kind_of,
    rule_from,
)
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
    """The class's next version, empty or with the rules of an earlier one, each as it is now begun
    with (`RuleKind.renewed`): what is new stands among the changes of the draft."""
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
    units = target.club.units()
    Rule.objects.bulk_create(
        Rule(
            rule_set=target,
            club_id=target.club_id,
            order=rule.order,
            kind=rule.kind,
            parameters=rule_from(rule.kind, rule.parameters).renewed(units).to_params(),
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
    declared = _declared(by, rule_set, kind, parameters, others=standing)
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
def change_rule(*, by: User, rule: Rule, parameters: Mapping[str, Any]) -> Rule:
    """Declares a rule of a draft anew, in its place. Invalid names the parameter."""
    rule_set = rule.rule_set
    check_can_keep_rules(by, rule_set)
    refuse_unless_draft(rule_set)
    others = rule_set.rules.exclude(pk=rule.pk)
    rule.parameters = _declared(by, rule_set, rule.kind, parameters, others=others).to_params()
    rule.save(update_fields=["parameters"])
    record(
        by=by,
        did="changed",
        on=rule,
        club_id=rule.club_id,
        kind=rule.kind,
        parameters=rule.parameters,
    )
    return rule


def _declared(
    by: User, rule_set: RuleSet, kind: str, parameters: Mapping[str, Any], *, others: Iterable[Rule]
) -> RuleKind:
    """A new rule of the set, refused where it makes no sense by itself or beside the others."""
    declared = declare_rule(kind, parameters, by.units(rule_set.club.units()))
    try:
        check_together([*(rule_from(r.kind, r.parameters) for r in others), declared])
    except ParameterError as refusal:
        raise Invalid(refusal.parameter, declared.refusal_text(refusal)) from refusal
    return declared


def declare_rule(kind: str, parameters: Mapping[str, Any], units: Units) -> RuleKind:
    """A rule that could be kept. Invalid names the parameter, and tells it in `units`."""
    try:
        of_kind = kind_of(kind)
    except UnknownRuleKind as unknown:
        raise Invalid("kind", "There is no rule of this kind.") from unknown
    try:
        declared = of_kind.declare(parameters, units)
    except ParameterError as refusal:
        raise Invalid(refusal.parameter, of_kind.refusal_text(refusal)) from refusal
    _refuse_unreadable(declared)
    return declared


def _refuse_unreadable(rule: RuleKind) -> None:
    """A measure that nobody can take, or not there, would leave its rule unchecked for ever."""
    where = rule.reads()
    if where is None:
        return
    measure = lengths().filter(pk=where.measure).first()
    if measure is None:
        raise Invalid("measure", "Measure must be a length of the catalogue.")
    if where.spot and where.spot not in measure.spots:
        spots = ", ".join(measure.spots)
        raise Invalid("spot", f"Where must be everywhere or one of {spots} for {measure}.")


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
    _refuse_absurd(by, rule_set)
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


def _refuse_absurd(by: User, rule_set: RuleSet) -> None:
    """Rules copied from an earlier version may be older than the bounds that hold now."""
    units = by.units(rule_set.club.units())
    for rule in rule_set.rules.all():
        declared = rule_from(rule.kind, rule.parameters)
        try:
            declared.refuse_absurd(units)
        except ParameterError as refusal:
            words = declared.words(units)
            raise WrongState(
                f"Change this rule first: {words}. {declared.refusal_text(refusal)}"
            ) from None


@action
def retire_rule_set(*, by: User, rule_set: RuleSet) -> RuleSet:
    """Takes a published version out of use; events that froze it keep it."""
    check_can_keep_rules(by, rule_set)
    refuse_unless_published(rule_set)
    return _retire(by, rule_set)


def _retire(by: User, rule_set: RuleSet) -> RuleSet:
    rule_set.state = RuleSet.State.RETIRED
    rule_set.save(update_fields=["state"])
    record(by=by, did="retired", on=rule_set, club_id=rule_set.club_id, version=rule_set.version)
    return rule_set


def refuse_unless_published(rule_set: RuleSet) -> None:
    """Raises WrongState for a draft and for what is retired already."""
    if rule_set.state != RuleSet.State.PUBLISHED:
        raise WrongState("Only published rules can be retired.")


def refuse_unless_draft(rule_set: RuleSet) -> None:
    """Raises WrongState once the rules are published."""
    if rule_set.state != RuleSet.State.DRAFT:
        raise WrongState("Published rules do not change. Draft the next version instead.")
