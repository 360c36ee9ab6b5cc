"""Reach of a whole trip as plain data for the command line."""

import math
from datetime import datetime
from typing import Any

from trips.core.reach import Reach
from trips.documents.reach_table import PersonHide, SubjectLine, ViewLine
from trips.models import Trip
from trips.selectors.gear import gear_rows


def reach_report(trip: Trip, *, now: datetime) -> dict[str, Any]:
    """People by hides, views and subjects: verdict, factor, fill, pixels, set; then what would help."""
    found = gear_rows(trip, now=now)
    values, rows, wanted = found.values, found.rows, found.wanted
    people = [
        {
            "person": str(row.place.participant.uuid),
            "name": row.place.participant.name,
            "has_gear": row.has_gear,
            "hides": [_hide(line) for line in row.lines],
        }
        for row in rows
    ]
    helps = [
        {"name": loan.person, "where": list(loan.where), "now": loan.now, "helps": [one.words for one in loan.helps]}
        for loan in wanted
    ]
    return {"trip": str(values.trip.uuid), "name": values.trip.name, "people": people, "helps": helps}


def _hide(line: PersonHide) -> dict[str, Any]:
    return {
        "hide": line.key,
        "name": line.name,
        "fault": line.fault,
        "closed": line.closed,
        "access": line.access,
        "views": [_view(view) for view in line.views],
    }


def _view(view: ViewLine) -> dict[str, Any]:
    return {
        "view": view.key,
        "name": view.name,
        "set": view.gear,
        "warnings": list(view.warnings),
        "assumed": list(view.assumed),
        "subjects": [_subject(one) for one in (view.main, *view.others)],
    }


def _subject(line: SubjectLine) -> dict[str, Any]:
    reach: Reach = line.reach
    nearest, farthest = reach.focus_m or (None, None)
    return {
        "subject": line.key or None,
        "name": line.subject,
        "verdict": line.verdict,
        "factor": reach.factor,
        "fill": _rounded(reach.fill, 4),
        "pixels": reach.pixels,
        "field_mm": _rounded(reach.field_mm, 1),
        "judged_at_m": _rounded(reach.judged_at_m, 3),
        "focus_from_m": _rounded(nearest, 3),
        "focus_to_m": None if farthest is None or math.isinf(farthest) else _rounded(farthest, 3),
        "focal_mm": reach.best.focal_mm if reach.best else None,
        "sentence": line.sentence,
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def reach_lines(report: dict[str, Any]) -> list[str]:
    """The report as lines to read."""
    lines = [report["name"]]
    for person in report["people"]:
        lines.append(f"\n{person['name']}" + ("" if person["has_gear"] else " (no gear yet: counted as good)"))
        for hide in person["hides"]:
            if hide["access"]:
                lines.append(f"  {hide['access']}")
            for view in hide["views"] if person["has_gear"] else []:
                told = dict.fromkeys(one["sentence"] for one in view["subjects"])  # a fault is the same for all
                lines += [f"  {hide['name']}, {view['name']}: {sentence}" for sentence in told]
                lines += [f"    {warning}" for warning in (*view["warnings"], *view["assumed"])]
    if report["helps"]:
        lines.append("\nWhat would help")
        for one in report["helps"]:
            offered = " ".join(one["helps"]) or "nothing that people usually carry."
            lines.append(f"  {one['name']} in {'; '.join(one['where'])} ({one['now']}): {offered}")
    return lines
