"""How often a wrong password may be typed. django-axes counts, and logs without names; here is by what."""

from typing import Any

from django.contrib.auth import get_user_model
from django.http import HttpRequest

from participants.access import last_person


def counted_by(request: HttpRequest, credentials: dict[str, Any] | None) -> list[str | list[str]]:
    """Wrong passwords count by name and by address; on a device that the leader used before by both together.

    So nobody can lock a leader out of their own phone by typing wrong passwords elsewhere.
    """
    name = (credentials or {}).get("username") or request.POST.get("username", "")
    user = get_user_model().objects.filter(username=name).only("pk").first()
    if user is not None and last_person(request) == f"leader-{user.pk}":
        return [["username", "ip_address"]]
    return ["username", "ip_address"]
