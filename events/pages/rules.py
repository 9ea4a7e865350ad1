"""A class's rules: versions, a draft, its rules with example cars, publishing."""

from collections.abc import Callable
from functools import partial
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clubsetup.access.errors import is_allowed
from clubsetup.clock.writing import day
from clubsetup.quantities.units import Units
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import (
    confirm_page,
    form_action,
    form_page,
    person,
    run_action,
    submit_action,
)
from events.actions import rule_sets as actions
from events.models import Rule, RuleSet
from events.pages.rule_forms import RuleForm, RuleSetDraftForm, RuleSetForm, as_typed
from events.permissions import check_can_keep_rules
from events.presenters.examples import on_examples
from events.queries.rule_changes import changes_since, chosen_earlier, earlier_versions
from events.queries.rule_sets import kinds_by_topic, rules_on
from events.rules import KINDS, RuleKind, rule_from
from teams.models import Club, RaceClass
from teams.permissions import check_can_steward

A_FEW = 5
A_PAGE = 40
RULE_SETS = RuleSet.objects.select_related("race_class", "club")


@login_required
def rules(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Every class of the club with the newest versions of its rules."""
    club = get_object_or_404(Club, pk=pk)
    newest = RuleSet.objects.order_by("-version")[:A_FEW]
    context = {
        "club": club,
        "classes": club.race_classes.prefetch_related(
            Prefetch("rule_sets", newest, to_attr="newest_rules")
        ),
        "a_few": A_FEW,
        "can_keep": is_allowed(check_can_steward, person(request), club),
    }
    return render(request, "events/rules.html", context)


@login_required
def class_rules(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The versions of one class's rules, page by page."""
    race_class = get_object_or_404(RaceClass.objects.select_related("club"), pk=pk)
    rows = race_class.rule_sets.order_by("-version")
    versions, older = page_of(rows, A_PAGE, before_of(request.GET))
    context = {"race_class": race_class, "versions": versions, "older": older}
    return render(request, "events/class_rules.html", context)


@login_required
def draft(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The next version of a class's rules, from the last one or another."""
    race_class = get_object_or_404(RaceClass.objects.select_related("club"), pk=pk)
    check_can_keep_rules(person(request), race_class)
    form: Any = RuleSetDraftForm(request.POST or None, race_class=race_class)
    if submit_action(form, actions.draft_rule_set, by=request.user, race_class=race_class):
        return redirect("rule-set", form.outcome.pk)
    title = f"{race_class}: next version of the rules"
    lead = "A draft that members of the club can read. It holds for nobody until it is published."
    back = {"back": reverse("rules", args=[race_class.club_id]), "back_to": "Rules"}
    return form_page(request, form, title=title, button="Draft it", lead=lead, **back)


@login_required
def rule_set(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One version, its rules in words; a draft can be filled and published."""
    rule_set, user = get_object_or_404(RULE_SETS, pk=pk), person(request)
    units = user.units(rule_set.club.units())
    can_keep = is_allowed(check_can_keep_rules, user, rule_set)
    can_fill = can_keep and rule_set.state == RuleSet.State.DRAFT
    context = {
        "rule_set": rule_set,
        "spoken": [(r, rule_from(r.kind, r.parameters).words(units)) for r in rule_set.rules.all()],
        "can_keep": can_keep,
        "can_fill": can_fill,
        "topics": kinds_by_topic() if can_fill else [],
        "is_past": rule_set.valid_from < timezone.localdate(),
        **_since(request, rule_set, units),
    }
    return render(request, "events/rule_set.html", context)


def _since(request: HttpRequest, rule_set: RuleSet, units: Units) -> dict[str, Any]:
    """What changed since the version asked for, or else since the one just before."""
    chosen = request.GET.get("since", "")
    earlier = earlier_versions(rule_set, chosen)
    since = chosen_earlier(earlier, chosen)
    return {"earlier": earlier, "changes": since and changes_since(since, rule_set, units)}


@login_required
def rule_set_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A draft's date and how it decides."""
    rule_set = get_object_or_404(RULE_SETS, pk=pk)
    check_can_keep_rules(person(request), rule_set)
    initial = {"valid_from": rule_set.valid_from, "decision": rule_set.decision}
    form: Any = RuleSetForm(request.POST or None, initial=initial)
    if submit_action(form, actions.set_rule_set, by=request.user, rule_set=rule_set):
        return redirect("rule-set", pk)
    return form_page(request, form, title=str(rule_set), button="Keep it", **_back(rule_set))


@login_required
def rule_add(request: HttpRequest, pk: UUID, kind: str) -> HttpResponse:
    """A rule of one kind, shown on two example cars before it is added."""
    rule_set = get_object_or_404(RULE_SETS, pk=pk)
    check_can_keep_rules(person(request), rule_set)
    if kind not in KINDS:
        raise Http404
    starts = KINDS[kind].example_in(_units(request, rule_set))
    keep = partial(actions.add_rule, rule_set=rule_set, kind=kind)
    return _rule_page(request, rule_set, starts, keep, button="Add the rule")


@login_required
def rule_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A rule of a draft, to be declared anew."""
    rule = get_object_or_404(Rule, pk=pk)
    rule_set = RULE_SETS.get(pk=rule.rule_set_id)
    check_can_keep_rules(person(request), rule_set)
    starts = rule_from(rule.kind, rule.parameters)
    rule.rule_set = rule_set
    return _rule_page(
        request, rule_set, starts, partial(actions.change_rule, rule=rule), button="Keep the change"
    )


def _rule_page(
    request: HttpRequest, rule_set: RuleSet, starts: RuleKind, keep: Callable[..., Any], button: str
) -> HttpResponse:
    """The form of a rule. `try` asks to see it on the example cars, and keeps nothing."""
    actions.refuse_unless_draft(rule_set)
    units = _units(request, rule_set)
    # A kind without parameters sends nothing, and is sent all the same.
    sent = request.POST if request.method == "POST" else None
    form = RuleForm(sent, kind=type(starts), units=units, initial=as_typed(starts, units))
    if "try" not in request.POST and _is_saved(request, form, keep):
        messages.success(request, f"{starts.title} is kept.")
        return redirect("rule-set", rule_set.pk)
    # None where what was sent makes no rule.
    shown = starts if not form.is_bound else form.declared if form.is_valid() else None
    context = {"rule_set": rule_set, "title": starts.title, "form": form, "button": button}
    if shown is not None:
        examples = on_examples(shown, rule_set.decision, units)
        context |= {"words": shown.words(units), "examples": examples}
    live = request.htmx  # type: ignore[attr-defined]  # set by django_htmx's middleware
    template = "events/bits/rule_shown.html" if live else "events/rule_form.html"
    return render(request, template, {**context, "live": live})


def _is_saved(request: HttpRequest, form: RuleForm, keep: Callable[..., Any]) -> bool:
    return form.is_valid() and form_action(
        form, keep, by=request.user, parameters=form.parameters()
    )


def _units(request: HttpRequest, rule_set: RuleSet) -> Units:
    return person(request).units(rule_set.club.units())


@login_required
@require_POST
def rule_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a rule out of a draft."""
    rule = get_object_or_404(Rule.objects.select_related("rule_set__club"), pk=pk)
    run_action(
        request, actions.remove_rule, by=request.user, rule=rule, done="The rule is taken out."
    )
    return redirect("rule-set", rule.rule_set_id)


@login_required
@require_POST
def publish(request: HttpRequest, pk: UUID) -> HttpResponse:
    """From now on this version stands."""
    rule_set = get_object_or_404(RULE_SETS, pk=pk)
    check_can_keep_rules(person(request), rule_set)
    if rule_set.valid_from < timezone.localdate() and "past" not in request.POST:
        messages.error(request, "They hold from a day that has passed: tick that you mean it.")
        return redirect("rule-set", pk)
    done = f"{rule_set} hold from {day(rule_set.valid_from)}."
    run_action(request, actions.publish_rule_set, by=request.user, rule_set=rule_set, done=done)
    return redirect("rule-set", pk)


@login_required
@require_http_methods(["GET", "POST"])
def retire(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a published version out of use, after asking."""
    rule_set = get_object_or_404(RULE_SETS, pk=pk)
    check_can_keep_rules(person(request), rule_set)
    if request.method == "GET":
        return _ask_retire(request, rule_set)
    done = f"{rule_set} are retired. Events that froze them keep them."
    run_action(request, actions.retire_rule_set, by=request.user, rule_set=rule_set, done=done)
    return redirect("rule-set", pk)


def _ask_retire(request: HttpRequest, rule_set: RuleSet) -> HttpResponse:
    actions.refuse_unless_published(rule_set)
    return confirm_page(
        request,
        title=f"Retire {rule_set}?",
        lead=f"{_then(rule_set)} Events that froze this version keep it. It cannot be put in force "
        "again: to go back to these rules, the next version is drafted from them.",
        button=f"Retire version {rule_set.version}",
        safe="Keep them in force",
        **_back(rule_set),
    )


def _then(rule_set: RuleSet) -> str:
    """What holds for the class today once these rules are retired."""
    today, of_class = timezone.localdate(), rule_set.race_class
    held = rules_on(of_class, today)
    if held != rule_set:
        return f"What holds for {of_class} today does not change."
    standing = rules_on(of_class, today, without=rule_set)
    if standing is None:
        return f"{of_class} then has no rules: no event can run it until others are published."
    return f"Version {standing.version} holds for {of_class} then."


def _back(rule_set: RuleSet) -> dict[str, str]:
    return {"back": reverse("rule-set", args=[rule_set.pk]), "back_to": str(rule_set)}
