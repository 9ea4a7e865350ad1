"""A class's rules: versions, a draft, its rules with example cars, publishing."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from clubsetup.access.errors import may
from clubsetup.clock.writing import day
from clubsetup.quantities.units import Units
from clubsetup.site.pages import do, form_action, form_page, person, submit
from events.actions import rule_sets as actions
from events.may import check_can_keep_rules
from events.models import Rule, RuleSet
from events.pages.rule_forms import RuleForm, RuleSetForm, example_values
from events.queries.examples import Example, on_examples
from events.queries.rule_sets import kinds_by_title
from events.rules import KINDS, ParameterError, RuleKind, rule_from
from teams.may import check_can_steward
from teams.models import Club, RaceClass

RULE_SETS = RuleSet.objects.select_related("race_class", "club")


@login_required
def rules(request: HttpRequest, club: UUID) -> HttpResponse:
    """Every class of the club with the versions of its rules."""
    found = get_object_or_404(Club, pk=club)
    context = {
        "club": found,
        "classes": found.race_classes.prefetch_related("rule_sets"),
        "can_keep": may(check_can_steward, person(request), found),
    }
    return render(request, "events/rules.html", context)


@login_required
def draft(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The next version of a class's rules, from the last one."""
    race_class = get_object_or_404(RaceClass.objects.select_related("club"), pk=pk)
    check_can_keep_rules(person(request), race_class)
    form: Any = RuleSetForm(request.POST or None)
    last = race_class.rule_sets.order_by("-version").first()
    if submit(form, actions.draft_rule_set, by=request.user, race_class=race_class, copy_of=last):
        return redirect("rule-set", form.outcome.pk)
    lead = f"Begins with the rules of version {last.version}." if last else "Begins empty."
    title = f"{race_class}: next version of the rules"
    back = {"back": reverse("rules", args=[race_class.club_id]), "back_to": "Rules"}
    return form_page(request, form, title=title, button="Draft it", lead=lead, **back)


@login_required
def rule_set(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One version, its rules in words; a draft can be filled and published."""
    found, user = get_object_or_404(RULE_SETS, pk=pk), person(request)
    units = user.units(found.club.units())
    spoken = [(r, rule_from(r.kind, r.parameters).words(units)) for r in found.rules.all()]
    can_keep = may(check_can_keep_rules, user, found)
    can_fill = can_keep and found.state == RuleSet.State.DRAFT
    # As plain pairs: a template would call a class to make a rule of it.
    kinds = [(kind.kind, kind.title) for kind in kinds_by_title()] if can_fill else []
    context = {"rule_set": found, "spoken": spoken, "can_keep": can_keep, "kinds": kinds}
    context["is_past"] = found.valid_from < timezone.localdate()
    return render(request, "events/rule_set.html", context)


@login_required
def rule_set_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A draft's date and how it decides."""
    found = get_object_or_404(RULE_SETS, pk=pk)
    check_can_keep_rules(person(request), found)
    initial = {"valid_from": found.valid_from, "decision": found.decision}
    form: Any = RuleSetForm(request.POST or None, initial=initial)
    if submit(form, actions.set_rule_set, by=request.user, rule_set=found):
        return redirect("rule-set", pk)
    return form_page(request, form, title=str(found), button="Keep it", **_back(found))


@login_required
def rule_add(request: HttpRequest, pk: UUID, kind: str) -> HttpResponse:
    """A rule of one kind, shown on two example cars before it is added."""
    found, user = get_object_or_404(RULE_SETS, pk=pk), person(request)
    check_can_keep_rules(user, found)
    if kind not in KINDS:
        raise Http404
    actions.refuse_unless_draft(found)
    declared, units = KINDS[kind], user.units(found.club.units())
    # A kind without parameters sends nothing, and is sent all the same.
    sent = request.POST if request.method == "POST" else None
    form = RuleForm(sent, kind=declared, units=units, initial=example_values(declared, units))
    if "try" not in request.POST and _added(request, form, found, kind):
        messages.success(request, f"Added: {declared.title.lower()}.")
        return redirect("rule-set", pk)
    context = {"rule_set": found, "title": declared.title, "form": form}
    shown = _shown(form, found, declared, units)
    return render(request, "events/rule_add.html", {**context, **shown})


def _added(request: HttpRequest, form: RuleForm, found: RuleSet, kind: str) -> bool:
    return form.is_valid() and form_action(
        form,
        actions.add_rule,
        by=request.user,
        rule_set=found,
        kind=kind,
        parameters=form.parameters(),
    )


def _shown(
    form: RuleForm, found: RuleSet, kind: type[RuleKind], units: Units
) -> dict[str, str | list[Example]]:
    """The rule as typed (the example while nothing is) in words and on the example cars."""
    rule = kind.example()
    if form.is_bound:
        if not form.is_valid():
            return {}
        try:
            rule = kind.from_params(form.parameters())
        except ParameterError as refusal:
            field = refusal.parameter if refusal.parameter in form.fields else None
            form.add_error(field, refusal.problem.capitalize() + ".")
            return {}
    return {"words": rule.words(units), "examples": on_examples(rule, found.decision, units)}


@login_required
@require_POST
def rule_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a rule out of a draft."""
    rule = get_object_or_404(Rule.objects.select_related("rule_set__club"), pk=pk)
    do(request, actions.remove_rule, by=request.user, rule=rule, done="The rule is taken out.")
    return redirect("rule-set", rule.rule_set_id)


@login_required
@require_POST
def publish(request: HttpRequest, pk: UUID) -> HttpResponse:
    """From now on this version stands."""
    found = get_object_or_404(RULE_SETS, pk=pk)
    check_can_keep_rules(person(request), found)
    if found.valid_from < timezone.localdate() and "past" not in request.POST:
        messages.error(request, "They hold from a day that has passed: tick that you mean it.")
        return redirect("rule-set", pk)
    done = f"{found} hold from {day(found.valid_from)}."
    do(request, actions.publish_rule_set, by=request.user, rule_set=found, done=done)
    return redirect("rule-set", pk)


@login_required
@require_POST
def retire(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a published version out of use."""
    found = get_object_or_404(RULE_SETS, pk=pk)
    done = f"{found} are retired. Events that froze them keep them."
    do(request, actions.retire_rule_set, by=request.user, rule_set=found, done=done)
    return redirect("rule-set", pk)


def _back(found: RuleSet) -> dict[str, str]:
    return {"back": reverse("rule-set", args=[found.pk]), "back_to": str(found)}
