"""The day board of a trip: from the press that closes a hide to the page of the repair that is to be confirmed, against
the bare solve of the same problem in the same run; and what the board's page weighs with all that it loads."""

import gzip
import json
import re
import statistics
import time
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.bench.bench_pages import empty_database

PEOPLE, HIDES, SESSIONS, RUNS = 12, 6, 12, 5
AWAITED_S = 5.0


def issued_trip() -> Any:
    """A trip with a free seat in each hide, whose rota the planner made and that is issued."""
    from django.utils import timezone

    from tests import factories
    from trips.core.rota.search.outcome import SearchTime
    from trips.services.making import Wanted, making_open
    from trips.services.making_run import making_run
    from trips.services.rota import rota_issue

    trip = factories.planned_trip(people_count=PEOPLE, hides=HIDES, sessions=SESSIONS)
    for hide in trip.sites.get().hides.all():
        factories.seat(hide=hide)
    wanted = Wanted(search_time=SearchTime.QUICK)
    made, _ = making_open(trip=trip, wanted=wanted, by=trip.leader, now=timezone.now())
    rota = making_run(making_uuid=made.uuid).rota
    rota_issue(rota=rota, by=trip.leader, now=timezone.now(), seen_version=rota.version)
    return trip


def repaired(client: Any, trip: Any, hide: Any) -> dict[str, float]:
    """Seconds until the repair can be confirmed after a hide was closed, and those of the bare solve; then undone."""
    from django.urls import reverse

    from trips.services import making_run as room

    solved: list[float] = []

    def timed(*args: Any, **asked: Any) -> Any:
        begun = time.perf_counter()
        outcome = solve(*args, **asked)
        solved.append(time.perf_counter() - begun)
        return outcome

    solve, change = room.solve, reverse("trips:board-change", args=[trip.uuid])
    begun, worked = time.perf_counter(), time.process_time()
    told = client.post(change, {"what": "close", "span": "this", "hide": hide.uuid})
    with patch.object(room, "solve", timed):
        made = room.making_run(making_uuid=trip.makings.latest("pk").uuid)
    page = client.get(client.get(told.url).url)
    took, cpu = time.perf_counter() - begun, time.process_time() - worked
    assert made.rota is not None, (made.state, made.explanation)
    assert page.status_code == 200
    made.rota.delete()
    client.post(change, {"what": "open", "span": "this", "hide": hide.uuid})
    return {"sheet_s": took, "solve_s": solved[0], "cpu_s": cpu}


def weight(client: Any, trip: Any) -> dict[str, int]:
    """Bytes of the board's page and of all scripts, styles and pictures that it names, as they are and packed."""
    from django.contrib.staticfiles import finders
    from django.urls import reverse

    page = client.get(reverse("trips:board-show", args=[trip.uuid])).content
    names = set(re.findall(rb'(?:src|href)="/static/([^"?]+)', page))
    files = [Path(str(finders.find(name.decode()))).read_bytes() for name in sorted(names)]
    packed = sum(len(gzip.compress(one, 6)) for one in files)
    found = {"page_bytes": len(page), "page_packed_bytes": len(gzip.compress(page, 6)), "assets": len(files)}
    return found | {"assets_bytes": sum(map(len, files)), "assets_packed_bytes": packed}


def rows() -> list[dict[str, object]]:
    """One row for the repair's sheet, one for the page's weight."""
    with empty_database():
        from django.test import Client
        from django.urls import reverse

        trip = issued_trip()
        client = Client(headers={"host": "localhost"})
        client.force_login(trip.leader)
        used = [turn.hide for turn in trip.rotas.get(state="issued").turns.filter(session=trip.sessions.first())]
        hides = list(dict.fromkeys(used))
        runs = [repaired(client, trip, hides[run % len(hides)]) for run in range(RUNS)]
        board = reverse("trips:board-show", args=[trip.uuid])
        begun = time.perf_counter()
        client.get(board)
        board_ms, weighed = (time.perf_counter() - begun) * 1000, weight(client, trip)
    sheet, bare, cpu = (statistics.median(run[name] for run in runs) for name in ("sheet_s", "solve_s", "cpu_s"))
    took = {"ours_ms": sheet * 1000, "rival_ms": bare * 1000, "cpu_s": cpu, "awaited_s": AWAITED_S}
    name = f"board: a repair of {PEOPLE} people, {HIDES} hides, {SESSIONS} sessions"
    return [
        {"name": name, "rival": "the bare solve"} | took,
        {"name": "board: its page", "ours_ms": board_ms} | weighed,
    ]


if __name__ == "__main__":
    print(json.dumps({"rows": rows()}, indent=1))
