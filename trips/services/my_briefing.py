"""One person's briefing as it was issued: as values for a page, and printed."""

from dataclasses import replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models.fields.json import KeyTransform
from django.urls import reverse

from participants.mail import public_address
from trips.documents.briefing import PaperHead
from trips.documents.briefing_pages import Briefing, briefing_from
from trips.documents.frozen_json import from_json
from trips.documents.paper_facts import BriefingSource, PersonFacts, TripFacts
from trips.documents.quantities import stamp_text
from trips.models import ON_TRIP, Issue, Place
from trips.selectors.meal import meals_by_day
from trips.selectors.my import issued_page, names_of
from trips.selectors.trip import leader_phones
from trips.services.pdf import job_pdf
from trips.services.print_jobs import briefing_job


def my_briefing(*, place: Place, now: datetime, with_drawings: bool = False) -> Briefing | None:
    """The person's briefing from what the issue in force kept, in their units; None before the first issue."""
    issued = issued_page(place)
    if issued is None or place.state not in ON_TRIP:
        return None
    key = str(place.uuid)
    own: Any = KeyTransform(key, KeyTransform("people", "papers"))
    trip: Any = KeyTransform("trip", "papers")
    drawings: Any = KeyTransform("drawings", "papers")
    issues = Issue.objects.filter(uuid=issued.issue_uuid).annotate(own=own, trip=trip, drawn=drawings)
    names = ("own", "trip", "drawn") if with_drawings else ("own", "trip")
    kept = issues.values(*names).get()
    if kept["own"] is None or kept["trip"] is None:
        return None
    facts = from_json(TripFacts, kept["trip"])
    zone = ZoneInfo(facts.time_zone)
    told, made = (stamp_text(moment.astimezone(zone), facts.time_zone) for moment in (issued.issued_at, now))
    rota = f"rota {issued.number}, {'issued' if issued.in_force else 'retired'}, told {told}"
    head = PaperHead(place.trip.name, "Briefing", rota, made, facts.time_zone, leaders=leader_phones(place.trip))
    person = place.participant
    own_facts = from_json(PersonFacts, kept["own"])
    source = BriefingSource(
        head=head,
        page=issued.page,
        person=replace(own_facts, units=person.units, emergency_contact=person.emergency_contact),
        trip=facts,
        page_url=public_address(reverse("trips:my-days", args=[person.uuid])),
        drawings=kept.get("drawn") or {},
        names=names_of(place),
        meals=meals_by_day(place.trip),
    )
    return briefing_from(source)


def my_briefing_pdf(*, place: Place, now: datetime, page_size: str = "A4") -> bytes | None:
    """The same briefing printed; None before the first issue. Raises NoFont or PaperFailed."""
    briefing = my_briefing(place=place, now=now, with_drawings=True)
    return None if briefing is None else job_pdf(briefing_job(briefing, page_size))
