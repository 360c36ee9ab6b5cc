"""The rota's page of a large trip, from the request to the last byte, against the rendering of its own template with
ready-made plain values in the same run."""

import json
import os
import re
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

PEOPLE, HIDES, SESSIONS = 24, 12, 20
TARGET = 2.0
MADE_AT = datetime(2027, 4, 1, 12, tzinfo=UTC)
TRIP_COLUMNS = ("uuid", "name", "units")
RULE_COLUMNS = ("good_minutes", "good_score", "burden_walk_m")
ROTA_COLUMNS = ("number", "state", "made_at", "seconds", "seed", "search_time", "solver_version", "version")
ROTA_COLUMNS += ("rules_digest", "inputs_digest")


@contextmanager
def empty_database() -> Iterator[None]:
    """Django with a database file of this run's own, gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="fairhide-bench-") as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        os.environ.setdefault("SECRET_KEY", "a key of a benchmark, long enough: 0123456789abcdef0123456789")
        os.environ.setdefault("ALLOWED_HOSTS", "localhost")
        os.environ.setdefault("PUBLIC_URL", "http://localhost")
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        yield


def large_rota() -> Any:
    """A draft of 24 people in 12 hides and 20 sessions, stored as every rota is; everybody moves on by one hide."""
    from tests import factories
    from trips.assemble.rota import rota_inputs
    from trips.assemble.rota_result import Made
    from trips.assemble.trip import trip_values
    from trips.core.rota.problem.values import Plan, Turn
    from trips.services.rota import rota_save

    trip = factories.planned_trip(people_count=PEOPLE, hides=HIDES, sessions=SESSIONS)
    trip.sites.get().hides.order_by("pk").first().views.update(horizon=[[60, 4], [85, 12], [280, 9]])
    inputs = rota_inputs(trip_values(trip))
    turns = [
        Turn(person, session, (person // 2 + session) % HIDES, person % 2)
        for session in range(SESSIONS)
        for person in range(PEOPLE)
    ]
    stages = tuple({"name": name, "value": 0.8, "bound": 0.9, "proved": False} for name in ("worst_share", "draw"))
    made = Made(
        status="feasible", bound=0.9, stages=stages, seed=1, search_time="normal", seconds=9.0, solver_version="none"
    )
    return rota_save(inputs=inputs, plan=Plan(tuple(turns)), made=made, by=trip.leader, now=MADE_AT)


def plain(row: Any, columns: tuple[str, ...], **more: Any) -> SimpleNamespace:
    """A row's columns as plain values."""
    return SimpleNamespace(**{name: getattr(row, name) for name in columns}, **more)


def plain_context(context: dict[str, Any]) -> dict[str, Any]:
    """The view's context with plain values in the place of rows."""
    trip, rota = context["trip"], context["rota"]
    made_by = SimpleNamespace(get_full_name="", get_username=rota.made_by.get_username())
    shown = plain(rota, ROTA_COLUMNS, made_by=made_by, get_state_display=rota.get_state_display())
    rules = plain(trip.rules, RULE_COLUMNS)
    return context | {"trip": plain(trip, TRIP_COLUMNS, rules=rules), "rota": shown}


def main_part(page: str) -> str:
    """What stands in the page's main part, without the tokens that differ each time."""
    return re.sub(r'value="\w{64}"', "", page[page.index("<main") : page.index("</main>")])


def best_ms(actions: dict[str, Callable[[], object]], times: int = 12) -> dict[str, float]:
    """The shortest of a few runs of each in milliseconds; they take turns, so that both meet the same machine."""
    took: dict[str, list[float]] = {name: [] for name in actions}
    for _ in range(times):
        for name, action in actions.items():
            begun = time.perf_counter()
            action()
            took[name].append((time.perf_counter() - begun) * 1000.0)
    return {name: min(found) for name, found in took.items()}


def rows() -> list[dict[str, object]]:
    """One row: the whole answer of the page beside its template alone."""
    with empty_database():
        from django.template.loader import get_template
        from django.test import Client, RequestFactory
        from django.urls import reverse

        rota = large_rota()
        path = reverse("trips:rota-number", kwargs={"trip_uuid": rota.trip.uuid, "number": rota.number})
        client = Client(headers={"host": "localhost"})
        client.force_login(rota.trip.leader)
        found = contexts_of(client, path)
        request = RequestFactory(headers={"host": "localhost"}).get(path)
        request.user = rota.trip.leader
        template = get_template("trips/rota_show.html")
        assert main_part(client.get(path).content.decode()) == main_part(template.render(found, request))
        took = best_ms({"ours": lambda: client.get(path), "rival": lambda: template.render(found, request)})
    return [
        {
            "name": f"pages: the rota of {PEOPLE} people, {HIDES} hides, {SESSIONS} sessions",
            "ours_ms": round(took["ours"], 3),
            "rival_ms": round(took["rival"], 3),
            "ratio": round(took["ours"] / took["rival"], 3),
            "rival": "its own template with plain values",
            "target": TARGET,
        }
    ]


def contexts_of(client: Any, path: str) -> dict[str, Any]:
    """What the view hands to its template, as plain values; asked once with the test client's instruments on."""
    from django.test.utils import setup_test_environment, teardown_test_environment

    setup_test_environment()
    try:
        context = client.get(path).context
        names = ("trip", "rota", "panel", "page", "changes", "changed", "day", "zone", "turns_at")
        return plain_context({name: context.get(name) for name in names})
    finally:
        teardown_test_environment()


if __name__ == "__main__":
    print(json.dumps({"rows": rows()}, indent=1))
