"""Rows of sessions and rules into values."""

from zoneinfo import ZoneInfo

from trips.assemble.from_row import from_row
from trips.core.values import AdviceSettings, HourForecast, LightSettings, ReachSettings, Rules, Session
from trips.documents.quantities import short_day_text
from trips.models import Session as SessionRow
from trips.models import TripRules as RulesRow


def session_label(row: SessionRow) -> str:
    """What a session is called: its name, or "Sat 8 May, early"."""
    starts_at = row.starts_at.astimezone(ZoneInfo(row.site.time_zone))
    return row.name or f"{short_day_text(starts_at.date())}, {row.get_kind_display()}"


def session_value(row: SessionRow, rules: RulesRow | None = None) -> Session:
    """A session in its site's zone; its heat limit, where empty, is the trip's."""
    zone = ZoneInfo(row.site.time_zone)
    limit = row.heat_limit_c
    if limit is None and rules is not None:
        limit = rules.heat_limit_c
    starts_at, ends_at = row.starts_at.astimezone(zone), row.ends_at.astimezone(zone)
    return from_row(
        Session,
        row,
        name=session_label(row),
        starts_at=starts_at,
        ends_at=ends_at,
        heat_limit_c=limit,
        forecast=tuple(from_row(HourForecast, hour, moment=hour.hour) for hour in row.forecasts.all()),
    )


def _light_settings(row: RulesRow) -> LightSettings:
    factors = {f"wish_{wish}": tuple(float(one) for one in found) for wish, found in row.wish_scoring.items()}
    heights = tuple((float(altitude), float(factor)) for altitude, factor in row.height_scoring)
    return from_row(LightSettings, row, height_scoring=heights, **factors)


def _reach_factors(row: RulesRow) -> tuple[tuple[str, float], ...]:
    """The factors in one order whatever the database: PostgreSQL does not keep the order of a JSON object's keys."""
    known = [verdict for verdict, _ in ReachSettings().factors]
    order = [verdict for verdict in known if verdict in row.reach_factors]
    order += sorted(set(row.reach_factors) - set(known))
    return tuple((verdict, float(row.reach_factors[verdict])) for verdict in order)


def rules_value(row: RulesRow | None) -> Rules:
    """The trip's rules; a trip without a row has the documented defaults."""
    if row is None:
        return Rules()
    return from_row(
        Rules,
        row,
        visit_loss=tuple(float(loss) for loss in row.visit_loss),
        light=_light_settings(row),
        reach=from_row(ReachSettings, row, factors=_reach_factors(row)),
        advice=from_row(AdviceSettings, row),
    )
