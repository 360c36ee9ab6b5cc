"""The page of a rota lists the planner's wishes as a reader wants them."""

import re

import pytest
from django.urls import reverse

from tests.trips.rota_trips import estate, planned

pytestmark = pytest.mark.django_db


def test_a_draw_in_many_steps_is_one_row_without_huge_numbers(client) -> None:
    rota = planned(estate())
    step = {"name": "draw", "value": 12345678.0, "best": 12345678.0, "bound": 12345678.0, "proved": True}
    rota.result["stages"] = [step, step, *(stage for stage in rota.result["stages"] if stage["name"] != "draw")]
    rota.save(update_fields=["result"])
    client.force_login(rota.trip.leader)
    page = client.get(reverse("trips:rota-number", args=[rota.trip.uuid, rota.number])).content.decode()
    rows = re.findall(r"<tr>\s*<th scope=\"row\">([^<]+)</th>\s*<td class=\"number\">([^<]*)</td>", page)
    assert [value for name, value in rows if "by lot" in name] == ["–"]
    assert "12345678" not in page
    assert len(rows) == len(rota.result["stages"]) - 1


def test_a_bound_that_was_not_looked_for_says_so(client) -> None:
    rota = planned(estate())
    row = {"name": "burden_excess", "value": 2.0, "best": 2.0, "bound": None, "proved": False}
    rota.result["stages"] = [row, row | {"name": "next_worst", "bound": 2.5}]
    rota.save(update_fields=["result"])
    client.force_login(rota.trip.leader)
    page = client.get(reverse("trips:rota-number", args=[rota.trip.uuid, rota.number])).content.decode()
    limits = re.findall(r"<td class=\"number\">2</td>\s*<td class=\"number\">\s*([^<]*?)\s*</td>", page)
    assert [" ".join(limit.split()) for limit in limits] == ["not looked for", "2.5000"]
