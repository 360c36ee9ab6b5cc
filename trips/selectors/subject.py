"""Subjects of the person who asks, and how they come to a hide. A stranger's id is a 404."""

from typing import Any
from uuid import UUID

from django.db.models import Count, Q, QuerySet
from django.shortcuts import get_object_or_404

from trips.models import Hide, HideSubject, Subject
from trips.selectors.trip import sites_of


def subjects_of(asker: Any) -> QuerySet[Subject]:
    """Subjects that this leader keeps, or meets in a hide that opens to them."""
    if not asker.is_authenticated:
        return Subject.objects.none()
    met = Q(hide_subjects__hide__site__in=sites_of(asker).values("pk"))
    return Subject.objects.filter(Q(leader=asker) | met).distinct()


def subject_rows(asker: Any) -> list[Subject]:
    """All of them by name, with the number of hides they come to."""
    wanted = Subject.objects.filter(pk__in=subjects_of(asker).values("pk"))
    return list(wanted.annotate(hide_count=Count("hide_subjects")).order_by("name", "uuid"))


def subject_for(asker: Any, uuid: UUID | str) -> Subject:
    """The subject of that uuid, if the asker may see it."""
    return get_object_or_404(subjects_of(asker), uuid=uuid)


def own_subject_for(asker: Any, uuid: UUID | str) -> Subject:
    """The subject of that uuid, if the asker keeps it."""
    return get_object_or_404(Subject.objects, leader=asker, uuid=uuid)


def chances_at(hide: Hide) -> QuerySet[HideSubject]:
    """The subjects that come to a hide, by name."""
    return HideSubject.objects.filter(hide=hide).select_related("subject").order_by("subject__name", "uuid")


def subjects_not_at(hide: Hide) -> QuerySet[Subject]:
    """The other subjects of whoever keeps the hide's site, by name."""
    others = Subject.objects.filter(leader=hide.site.leader_id).exclude(hide_subjects__hide=hide)
    return others.order_by("name", "uuid")
