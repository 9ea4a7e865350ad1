"""A driver's page: name, birth date, weight log; each shown to those who need it."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from clubsetup.access.errors import is_allowed
from clubsetup.access.reauthentication import still_you
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.actions import drivers
from teams.actions.erasing import erase_driver
from teams.lookups import read_or_404
from teams.models import Driver, DriverBirth, DriverWeight, Team
from teams.pages.forms import BirthDateForm, DriverForm, WeightForm
from teams.permissions import check_can_crew, check_can_lead, check_can_see_weights
from teams.presenters.driver_links import driver_links
from teams.presenters.driver_sections import driver_sections
from teams.presenters.erasing import what_goes, what_stays
from teams.queries.erasing import held_of

A_PAGE = 30
DRIVERS = Driver.objects.select_related("team__club")


def _driver(pk: UUID) -> Driver:
    return get_object_or_404(DRIVERS, pk=pk)


def _for_crew(request: HttpRequest, driver: Driver) -> dict[str, str]:
    check_can_crew(person(request), driver.team)
    return {"back": reverse("driver", args=[driver.pk]), "back_to": driver.display_name}


@login_required
def driver(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A driver, as far as the person looking may see."""
    user = person(request)
    driver = read_or_404(user, DRIVERS, pk)
    logged = driver.weights.order_by("-weighed_on", "-pk")
    weights, older = page_of(logged, A_PAGE, before_of(request.GET))
    context = {
        "driver": driver,
        "can_crew": is_allowed(check_can_crew, user, driver.team),
        "can_erase": is_allowed(check_can_lead, user, driver.team),
        "can_see_weights": is_allowed(check_can_see_weights, user, driver.team),
        "links": driver_links(),
        "birth": DriverBirth.objects.filter(driver=driver).first(),
        "weights": weights,
        "older": older,
        "said": driver_sections(driver, user),
    }
    return render(request, "teams/driver.html", context)


@login_required
def driver_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    team = get_object_or_404(Team, pk=pk)
    check_can_crew(person(request), team)
    form = DriverForm(request.POST or None)
    if submit_action(form, drivers.add_driver, by=request.user, team=team):
        messages.success(request, "The driver is added.")
        return redirect("team", pk)
    back = reverse("team", args=[pk])
    return form_page(
        request, form, title="New driver", button="Add the driver", back=back, back_to=team.name
    )


@login_required
def driver_rename(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes the name on the lap board."""
    driver = _driver(pk)
    back = _for_crew(request, driver)
    form = DriverForm(request.POST or None, initial={"display_name": driver.display_name})
    if submit_action(form, drivers.rename_driver, by=request.user, driver=driver):
        return redirect("driver", pk)
    return form_page(request, form, title="Name", button="Save", **back)


@login_required
def driver_birth_date(request: HttpRequest, pk: UUID) -> HttpResponse:
    driver = _driver(pk)
    back = _for_crew(request, driver)
    known = DriverBirth.objects.filter(driver=driver).first()
    form = BirthDateForm(
        request.POST or None, initial={"birth_date": known.birth_date if known else None}
    )
    if submit_action(form, drivers.set_birth_date, by=request.user, driver=driver):
        messages.success(request, "The birth date is kept. Only the crew sees it.")
        return redirect("driver", pk)
    lead = (
        "Only the team's crew sees it. An official of the club is told once for an entry of yours "
        "whether the driver is eligible by age, and never the date."
    )
    return form_page(request, form, title="Birth date", button="Save", lead=lead, **back)


@login_required
def driver_weight_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Adds a line to the weight log."""
    driver, user = _driver(pk), person(request)
    back = _for_crew(request, driver)
    form = WeightForm(request.POST or None, units=user.units(driver.team.club.units()))
    if submit_action(form, drivers.log_driver_weight, by=user, driver=driver):
        messages.success(request, "The weight is logged.")
        return redirect("driver", pk)
    return form_page(request, form, title="Weight", button="Log it", **back)


@login_required
@require_POST
def driver_weight_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Strikes a line of the weight log."""
    weight = get_object_or_404(DriverWeight.objects.select_related("driver__team"), pk=pk)
    done = "The line is struck."
    run_action(request, drivers.remove_driver_weight, by=request.user, weight=weight, done=done)
    return redirect("driver", weight.driver_id)


@still_you
@require_http_methods(["GET", "POST"])
def driver_erase(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Erases a driver, after saying exactly what goes and what stays."""
    driver, user = _driver(pk), person(request)
    check_can_lead(user, driver.team)
    if request.method == "POST":
        run_action(request, erase_driver, by=user, driver=driver, done="The driver is erased.")
        return redirect("team", driver.team_id)
    held = held_of(driver)
    return confirm_page(
        request,
        title=f"Erase {driver.display_name}?",
        lead="Nobody can bring it back.",
        button="Erase the driver",
        safe="Keep the driver",
        back=reverse("driver", args=[pk]),
        back_to=driver.display_name,
        goes=what_goes(driver, held),
        stays=what_stays(driver, held),
    )
