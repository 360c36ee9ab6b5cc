"""Who may plan on a site, as its own leader sees it."""

from trips.models import Site, SitePlanner, Trip


def planners_of(site: Site) -> list[SitePlanner]:
    """The leaders who may plan there, by the name they sign in with."""
    return list(site.planners.select_related("leader"))


def planner_of(site: Site, leader: str) -> SitePlanner | None:
    """The yes to the leader of that number; None where there is none (any more)."""
    return next((planner for planner in planners_of(site) if str(planner.leader_id) == leader), None)


def trips_without_yes(site: Site) -> list[Trip]:
    """Trips of other leaders that have the site, while its own leader has not said yes to them."""
    others = site.trips.exclude(leader=site.leader_id).exclude(leader__in=site.planners.values("leader"))
    return list(others.select_related("leader"))
