"""Points of a turn, 0-100, from what a person wishes, what comes there, the light and the gear.

points = 100 x (0.2 + 0.8 W) x mean over the best 90 minutes of max over views of ((1 - a) + a light) R.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

LEAST_WISH = 0.2  # what a turn without any wished subject keeps of its points
RATHER_NOT = 0.5  # what a hide keeps of its points that a person would rather not go to
BEST_SAMPLES = 18  # 90 minutes of five-minute samples


@dataclass(frozen=True, slots=True)
class Seen:
    """A subject that may come into a view in a session: its chance there and then, and the reach factor R, 0-1."""

    subject: str
    chance: float
    factor: float


@dataclass(frozen=True, slots=True)
class TurnFactors:
    """What makes up the points of one person, session and hide.

    `wish` W, 0-1; `reach` R of the view that counts most, 0-1; `light` the mean light score of the stretch, 0-1;
    `halved`: the person would rather not; `points` 0-100.
    """

    points: float
    wish: float
    reach: float
    light: float
    halved: bool = False


def wish_sum(votes: Mapping[str, int], chances: Mapping[str, float]) -> float:
    """Sum of votes x chance over the subjects of a hide in a session."""
    return sum(given * chances.get(subject, 0.0) for subject, given in votes.items())


def wish_weight(here: float, best: float) -> float:
    """W: the wish sum here and now against the best of the trip; 1 where nothing is wished or nothing comes."""
    return here / best if best > 0.0 else 1.0


def view_factor(seen: Sequence[Seen], votes: Mapping[str, int], alone: float) -> float:
    """R of a view: mean of the factors by votes x chance; all subjects without votes count one vote together.

    `alone`: the factor by the distance alone, taken where there is nothing to average.
    """
    without_votes = sum(1 for one in seen if not votes.get(one.subject))
    weights = [(votes.get(one.subject) or 1.0 / without_votes) * one.chance for one in seen]
    total = sum(weights)
    if total <= 0.0:
        return alone
    return sum(weight * one.factor for weight, one in zip(weights, seen, strict=True)) / total


def best_stretch(samples: Numbers, length: int = BEST_SAMPLES) -> tuple[float, int]:
    """The greatest mean of `length` consecutive samples and where it starts; the whole if there are fewer."""
    count = samples.size
    if count == 0:
        return 0.0, 0
    if count <= length:
        return float(samples.mean()), 0
    sums = np.concatenate(([0.0], np.cumsum(samples)))
    means = (sums[length:] - sums[:-length]) / length
    start = int(np.argmax(means))
    return float(means[start]), start


def turn_factors(
    light: Numbers, reaches: Sequence[float], wish: float, *, light_dial: float = 0.5, halved: bool = False
) -> TurnFactors:
    """The points of a turn with what they are made of.

    `light`: scores of the session's five-minute samples, views x samples, 0-1; `reaches`: R of each view; `wish`: W;
    `light_dial` a: 0 the animals alone, 1 the light alone.
    """
    factors = np.asarray(reaches, dtype=float)
    if light.size == 0 or factors.size == 0:
        return TurnFactors(0.0, wish, 0.0, 0.0, halved)
    by_view = ((1.0 - light_dial) + light_dial * light) * factors[:, None]
    value, start = best_stretch(by_view.max(axis=0))
    stretch = slice(start, start + BEST_SAMPLES)
    views = by_view[:, stretch].argmax(axis=0)
    columns = np.arange(views.size)
    points = 100.0 * (LEAST_WISH + (1.0 - LEAST_WISH) * wish) * value * (RATHER_NOT if halved else 1.0)
    return TurnFactors(
        round(points, 2),
        wish,
        float(factors[views].mean()),
        float(light[:, stretch][views, columns].mean()),
        halved,
    )
