"""Rows of sessions and rules into values."""

from zoneinfo import ZoneInfo

from trips.core.rota.problem.values import LIMITS
from trips.core.values import AdviceSettings, HourForecast, LightSettings, ReachSettings, Rules, Session
from trips.models import Forecast as ForecastRow
from trips.models import Session as SessionRow
from trips.models import TripRules as RulesRow


def forecast_value(row: ForecastRow) -> HourForecast:
    """The air at one hour."""
    return HourForecast(row.hour, row.air_c, row.humidity_pct)


def session_value(row: SessionRow, rules: RulesRow | None = None) -> Session:
    """A session in its site's zone; its heat limit, where empty, is the trip's."""
    zone = ZoneInfo(row.site.time_zone)
    limit = row.heat_limit_c
    if limit is None and rules is not None:
        limit = rules.heat_limit_c
    starts_at, ends_at = row.starts_at.astimezone(zone), row.ends_at.astimezone(zone)
    return Session(
        key=str(row.uuid),
        name=row.name or f"{starts_at:%a} {starts_at.day} {starts_at:%b}, {row.get_kind_display()}",
        starts_at=starts_at,
        ends_at=ends_at,
        kind=row.kind,
        sky=row.sky,
        wind_from_deg=row.wind_from_deg,
        heat_limit_c=limit,
        forecast=tuple(forecast_value(forecast) for forecast in row.forecasts.all()),
    )


def _light_settings(row: RulesRow) -> LightSettings:
    factors = {wish: tuple(float(one) for one in found) for wish, found in row.wish_scoring.items()}
    default = LightSettings()
    return LightSettings(
        front_deg=row.front_deg,
        side_deg=row.side_deg,
        top_deg=row.top_deg,
        height_scoring=tuple((float(altitude), float(factor)) for altitude, factor in row.height_scoring),
        wish_front=factors.get("front", default.wish_front),  # type: ignore[arg-type]
        wish_side=factors.get("side", default.wish_side),  # type: ignore[arg-type]
        wish_back=factors.get("back", default.wish_back),  # type: ignore[arg-type]
        ev_low=row.ev_low,
        ev_span=row.ev_span,
        shade_factor=row.shade_factor,
        overcast_factor=row.overcast_factor,
        lamp_score=row.lamp_score,
        good_score=row.good_score,
        good_minutes=row.good_minutes,
    )


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
    return Rules(
        **{name: getattr(row, name) for name in LIMITS},
        never_twice_running=row.never_twice_running,
        leader_policy=row.leader_policy,
        want_mixing=row.want_mixing,
        tolerance=row.tolerance,
        visit_loss=tuple(float(loss) for loss in row.visit_loss),
        light_dial=row.light_dial,
        set_up_min=row.set_up_min,
        settle_min=row.settle_min,
        stop_min=row.stop_min,
        pick_up_window_min=row.pick_up_window_min,
        hand_over_min=row.hand_over_min,
        hardship_walk_m=row.hardship_walk_m,
        heat_limit_c=row.heat_limit_c,
        light=_light_settings(row),
        reach=ReachSettings(
            crop_below=row.crop_below,
            tight_above=row.tight_above,
            portrait_above=row.portrait_above,
            least_pixels=row.least_pixels,
            pixels_web=row.pixels_web,
            pixels_30x20=row.pixels_30x20,
            pixels_a3=row.pixels_a3,
            factors=_reach_factors(row),
        ),
        advice=AdviceSettings(shutter_s=row.shutter_s, iso_good=row.iso_good, iso_top_default=row.iso_top_default),
    )
