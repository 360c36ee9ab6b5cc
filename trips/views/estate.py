"""What a site's own leader decides alone: who may plan there, and the address of the land owner's calendar."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from trips.forms.site import PlannerForm, SiteForm
from trips.models import Site
from trips.selectors.my_wishes import reader_name
from trips.selectors.site import own_site_for, planner_of, planners_of, trip_of_page, trips_without_yes, units_at
from trips.services.calendars import feed_address, feed_address_replace
from trips.services.site import planner_give, planner_withdraw


def owned_context(asker: Any, site: Site) -> dict[str, Any]:
    """What a site's own leader finds on its page beside its facts; nothing for another leader."""
    if site.leader != asker:
        return {}
    owned: dict[str, Any] = {"planners": planners_of(site), "waiting": trips_without_yes(site)}
    owned["address"] = feed_address(kind="feed_owner", owner_uuid=site.uuid)
    return {"owned": owned, "planner_form": PlannerForm(site=site)}


@login_required
@require_POST
def planner_allow(request: HttpRequest, site_uuid: UUID) -> HttpResponse:
    """Say yes to a leader, who may then plan on the site."""
    site = own_site_for(request.user, site_uuid)
    form = PlannerForm(request.POST, site=site)
    if form.is_valid():
        planner_give(site=site, leader=form.cleaned_data["leader"])
        messages.success(request, f"{reader_name(form.cleaned_data['leader'])} may plan on {site.name}.")
        return redirect("trips:site-edit", site_uuid=site_uuid)
    trip = trip_of_page(request.user, None, site)
    site_form = SiteForm(instance=site, today=timezone.now().date(), units=units_at(trip))
    context = {"site": site, "form": site_form, "seen": site.version, "trip": trip}
    context |= owned_context(request.user, site) | {"planner_form": form}
    return render(request, "trips/site_edit.html", context)


@login_required
@require_POST
def planner_refuse(request: HttpRequest, site_uuid: UUID) -> HttpResponse:
    """Take a yes back; trips keep the site with their sessions and rotas."""
    site = own_site_for(request.user, site_uuid)
    planner = planner_of(site, request.POST.get("leader", ""))
    if planner is not None:
        planner_withdraw(site=site, leader=planner.leader)
        messages.success(request, f"{planner} may no longer plan on {site.name}.")
    return redirect("trips:site-edit", site_uuid=site_uuid)


@login_required
@require_POST
def site_address(request: HttpRequest, site_uuid: UUID) -> HttpResponse:
    """A new address for the land owner's calendar; the old one is gone at once."""
    site = own_site_for(request.user, site_uuid)
    feed_address_replace(kind="feed_owner", owner_uuid=site.uuid)
    messages.success(request, "The calendar has a new address. The old one is gone from now on.")
    return redirect("trips:site-edit", site_uuid=site_uuid)
