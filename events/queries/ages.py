"""Whether drivers are eligible by age, for those who are told: the club's officials, the crew."""

from collections.abc import Collection
from uuid import UUID, uuid5

from django.db import connection

from events.models import AgeAnswer, Entry, Event, Finding, Rule
from events.rules import Facts, rule_from

AGE = "driver_age"
NOT_CONFIRMED = "Age not checked: the team has not confirmed the entry."
NOT_THERE = "Age not checked at the event."
NOT_YET = "Age not checked yet: it is, once, with a record within three days of the event."


def ages_of(entries: Collection[Entry]) -> dict[UUID, list[Finding]]:
    """By entry what its age rules come to, as findings that are kept nowhere; nothing for whoever
    may not know. Each entry's rules have the one answer that was given of all of them together."""
    wanted = {entry.event_class.rule_set_id for entry in entries}
    rules = list(Rule.objects.filter(rule_set__in=wanted, kind=AGE).select_related("club"))
    visible = _visible(entries) if rules else []
    answers = {one.entry_id: one for one in AgeAnswer.objects.filter(entry__in=visible)}
    return {
        entry.pk: [
            _finding(entry, rule, answers.get(entry.pk))
            for rule in rules
            if rule.rule_set_id == entry.event_class.rule_set_id
        ]
        for entry in visible
    }


def _visible(entries: Collection[Entry]) -> list[Entry]:
    """Those of whose driver the viewer may know."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.official_clubs(), access.crew_teams()")
        clubs, teams = cursor.fetchone()
    return [entry for entry in entries if entry.club_id in clubs or entry.team_id in teams]


def _finding(entry: Entry, rule: Rule, answer: AgeAnswer | None) -> Finding:
    declared = rule_from(rule.kind, rule.parameters)
    result = declared.check(Facts(age_eligible=answer.eligible if answer else None))
    finding = Finding(
        pk=uuid5(entry.pk, str(rule.pk)),
        entry=entry,
        club_id=entry.club_id,
        team_id=entry.team_id,
        rule=rule,
        outcome=str(result.outcome),
        rule_words=declared.words(rule.club.units())[:200],
        sentence=result.sentence if answer else _missing(entry),
    )
    if answer:
        finding.by_id, finding.created_at = answer.by_id, answer.created_at
    return finding


def _missing(entry: Entry) -> str:
    if entry.event.state == Event.State.OVER:
        return NOT_THERE
    return NOT_YET if entry.is_confirmed else NOT_CONFIRMED
