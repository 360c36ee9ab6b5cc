"""The wishes about shares: the worst as high as possible, then the total, then the next-worst."""

from functools import partial
from typing import Any

from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.space import SCALE, Draft, Space
from trips.core.rota.model.wishes import RotaWish

_MOST = 4 * SCALE  # a share can pass 1 where joined sessions count as one visit; by this much at most
_LOWEST = -10 * _MOST  # fees can take a share below 0; a variable needs some bound
_VISIBLE = SCALE // 200  # half a percent: people read shares in whole percents, so that is where a figure changes
_FLOOR_WEIGHT = 4  # times everybody: the worst share decides, and the sum of all below the target breaks its ties


def counted_shares(space: Space, draft: Draft) -> list[int]:
    """The shares of the people who count."""
    return [space.share(draft, person) for person in space.counted]


class WorstShare(RotaWish):
    """The worst share as high as possible. `target`: lifting a share beyond it does not help the search."""

    name = "worst_share"
    upwards = True
    scale = SCALE

    def __init__(self, target: int = SCALE) -> None:
        self.target = target

    def ideal(self, space: Space) -> int:
        """1, and what rounding adds; with joined sessions or stays a share may be higher still."""
        if not space.counted:
            return SCALE
        return _MOST if space.visit_of else SCALE + space.sessions * 2

    def value(self, space: Space, draft: Draft) -> int:
        """The smallest share."""
        return min(counted_shares(space, draft), default=SCALE)

    def score(self, space: Space, draft: Draft) -> tuple[int, ...]:
        """The smallest share, then what is reached of the target."""
        shares = counted_shares(space, draft)
        return (min(shares, default=SCALE), sum(min(share, self.target) for share in shares))

    def express(self, model: RotaModel) -> Any:
        """A floor under every share."""
        untouched = [model.space.share(model.draft, p) for p in model.space.counted if p not in model.touched()]
        least = min(untouched, default=_MOST)
        floor = model.cp.new_int_var(_LOWEST, least, "")
        for person in model.touched():
            model.cp.add(floor <= model.share(person))
        model.other_hints.append((floor, partial(self.value, model.space)))
        return floor

    def goal(self, model: RotaModel) -> Any:
        """The floor, and for each person what is reached of the target."""
        reached = []
        for person in model.touched():
            reached.append(model.cp.new_int_var(_LOWEST, self.target, ""))
            model.cp.add(reached[-1] <= model.share(person))
            model.other_hints.append((reached[-1], partial(self._reached, model.space, person)))
        return _FLOOR_WEIGHT * len(model.space.counted) * self.express(model) + model.expr.sum(reached)

    def _reached(self, space: Space, person: int, draft: Draft) -> int:
        return min(self.target, space.share(draft, person))

    def require(self, model: RotaModel, limit: int) -> None:
        """Nobody whose share may change falls below the limit."""
        for person in model.touched():
            model.cp.add(model.share(person) >= limit)


class TotalOfShares(RotaWish):
    """The sum of the shares of all who count."""

    name = "total_of_shares"
    upwards = True
    scale = SCALE

    def ideal(self, space: Space) -> int:
        """Everybody's best."""
        return len(space.counted) * WorstShare().ideal(space)

    def visible(self, space: Space) -> int:
        """Half a percent for everybody, on average."""
        return max(1, len(space.counted)) * _VISIBLE

    def value(self, space: Space, draft: Draft) -> int:
        """The sum of the shares."""
        return sum(counted_shares(space, draft))

    def express(self, model: RotaModel) -> Any:
        """The sum of the shares."""
        touched = model.touched()
        rest = sum(model.space.share(model.draft, p) for p in model.space.counted if p not in touched)
        return rest + model.expr.sum([model.share(person) for person in touched])


class NextWorst(RotaWish):
    """The second-smallest share."""

    name = "next_worst"
    upwards = True
    scale = SCALE

    def ideal(self, space: Space) -> int:
        """Everybody's best."""
        return WorstShare().ideal(space)

    def value(self, space: Space, draft: Draft) -> int:
        """The second-smallest share, or the only one."""
        return sorted(counted_shares(space, draft))[:2][-1] if space.counted else SCALE

    def express(self, model: RotaModel) -> Any:
        """A floor under every share but one."""
        floor = model.cp.new_int_var(_LOWEST, _MOST, "")
        touched = model.touched()
        spared = []
        for person in model.space.counted:
            spared.append(model.cp.new_bool_var(""))
            share = model.share(person) if person in touched else model.space.share(model.draft, person)
            model.cp.add(floor <= share).only_enforce_if(~spared[-1])
        model.cp.add_at_most_one(spared)
        return floor
