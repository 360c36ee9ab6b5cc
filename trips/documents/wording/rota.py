"""A rota in words: counts first, then the guarantee, then points; and why somebody moves."""

from dataclasses import dataclass

from participants.core.isolation import isolated
from trips.core.rota.edit.repair_moves import RepairMove
from trips.core.rota.explain.promises import DemandPromise, PersonCounts, Promises, told_share
from trips.core.rota.search.outcome import Trade
from trips.documents.quantities import count_text
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import (
    GOOD_KINDS,
    WHOLE_GROUP,
    RotaNames,
    listed,
    number,
    starting,
    times,
)


@dataclass(frozen=True, slots=True)
class SeatsAhead:
    """Turns ahead of one person in the issued rota (its number), in words; `by_mail`: whether mails reach them."""

    rota: int
    turns: tuple[str, ...]
    by_mail: bool


def counts_sentence(counts: PersonCounts, names: RotaNames) -> str:
    """What one person gets, counts alone: "Ada: Alder once; 2 good mornings, 1 good evening; no rest"."""
    parts = [f"{names.hides[hide]} {times(visits)}" for hide, visits in counts.demand]
    good = [count_text(turns, *GOOD_KINDS[kind]) for kind, turns in counts.good]
    parts += [", ".join(good)] if good else []
    parts.append(count_text(counts.rests, "rest") if counts.rests else "no rest")
    if counts.burdens:
        parts.append(count_text(counts.burdens, "long walk or hot session", "long walks or hot sessions"))
    return f"{names.person(counts.person)}: {'; '.join(parts)}."


def guarantee_sentences(promises: Promises, names: RotaNames) -> list[str]:
    """What holds for everybody: sought-after hides, good turns, rests, shares; every statement is true as it stands."""
    told = [_demand_sentence(demand, names, promises) for demand in promises.demand]
    good = [_good_phrase(*good) for good in promises.good if good[1]]
    if good:
        told.append(f"{_everybody(promises)} has {listed(good)}.")
    told += _rest_sentences(promises)
    told += _share_sentences(promises, names)
    if promises.leader_seats:
        told.append(
            f"The leader sits in {count_text(promises.leader_seats, 'session')}; good seats among them that somebody "
            f"else could have used: {promises.leader_good_seats}."
        )
    return told


def _demand_sentence(demand: DemandPromise, names: RotaNames, promises: Promises) -> str:
    hide = names.hides[demand.hide]
    if not demand.most:
        return f"{'Nobody who photographs' if promises.guests else 'Nobody'} sits in {hide}."
    who = _everybody(promises)
    if len(demand.unable) > promises.guests:  # guests have spare seats only, and as many as there are
        who += " and can sit there" if promises.guests else " who can sit there"
    if demand.without:
        lacking, is_one = names.persons(demand.without), len(demand.without) == 1
        first = "comes first next time" if is_one else "come first next time"
        if not promises.turns_short:
            return f"{lacking} {'has' if is_one else 'have'} no turn in {hide} in this rota and {first}."
        without = f"{lacking} {'goes' if is_one else 'go'} without this time and {first}"
        return f"In {hide} there are not enough turns for everybody: {without}."
    if demand.fewest == demand.most:
        return f"{who} sits {times(demand.fewest)} in {hide}."
    return f"{who} sits in {hide} {times(demand.fewest)} at least and {times(demand.most)} at most."


def _good_phrase(kind: str, fewest: int, most: int) -> str:
    one, many = GOOD_KINDS[kind]
    if fewest == most:
        return f"{number(fewest)} {one if fewest == 1 else many}"
    return f"from {number(fewest)} to {number(most)} {many}"


def _rest_sentences(promises: Promises) -> list[str]:
    fewest, most = promises.rests
    if not most:
        return []
    if fewest == most:
        return [f"{_everybody(promises)} rests {times(most)}."]
    if fewest:
        return [f"{_everybody(promises)} rests {times(fewest)} at least, nobody more than {times(most)}."]
    return [f"Some rest, nobody more than {times(most)}."]


def _everybody(promises: Promises) -> str:
    return "Everybody who photographs" if promises.guests else "Everybody"


def _share_sentences(promises: Promises, names: RotaNames) -> list[str]:
    if not promises.compared:
        return []
    all_compared = len(promises.compared) == len(names.people) - promises.guests
    who = _everybody(promises).lower() if all_compared else "everybody who can gain points"
    least = f"{starting(who)} gets at least {promises.least_share:.2f} of their own best"
    if promises.bound is None:
        return [f"{least}."]
    alike = " with as few changes" if promises.is_repair else ""
    alike += " that shares out sought-after hides and rests as evenly" if promises.counts_first else ""
    more = "can give everybody more" if promises.is_best else f"gives everybody more than {promises.bound:.2f}"
    return [f"{least}. No rota{alike} {more}."]


def trade_sentence(trade: Trade) -> str:
    """What an earlier wish gave up for a later one: "0.899 is possible as lowest fair share; 0.890 lets ..."."""
    what, decimals = _GAVE.get(trade.gave, (trade.gave.replace("_", " "), 3))
    got = _GOT.get(trade.got, f"brings {trade.got.replace('_', ' ')} to {{gained:g}} instead of {{without:g}}")
    gains = got.format(gained=trade.gained, without=trade.without)
    return f"{trade.possible:.{decimals}f} is possible as {what}; {trade.kept:.{decimals}f} {gains}."


_GAVE = {
    "worst_share": ("lowest fair share", 3),
    "total_of_shares": ("sum of fair shares", 2),
    "next_worst": ("next lowest fair share", 3),
    "demand_excess": ("number of unevenly shared turns in sought-after hides", 0),
}
_GOT = {
    "total_of_shares": "makes the sum of all fair shares {gained:.2f} instead of {without:.2f}",
    "next_worst": "makes the next lowest {gained:.3f} instead of {without:.3f}",
    "guests_without": "leaves {gained:.0f} instead of {without:.0f} turns of guests without a seat",
    "burden_excess": "spreads hardships more evenly ({gained:.0f} unevenly shared instead of {without:.0f})",
    "pairs_met": "lets {gained:.0f} pairs meet instead of {without:.0f}",
    "leader_company": "spreads the leader's company more evenly ({gained:.0f} apart instead of {without:.0f})",
}


def points_sentence(counts: PersonCounts, names: RotaNames) -> str:
    """The share, told last."""
    return f"{names.person(counts.person)}: {told_share(counts.share):.2f} of their own best."


def move_reason(move: RepairMove, names: RotaNames, *, for_leader: bool = True) -> str:
    """The reason alone, as part of a sentence; what rests on "apart" is told to leaders only."""
    if not move.faults:
        return "no rule needs it, but the rota is fairer"
    if move.rests_on_apart and not for_leader:
        return WHOLE_GROUP
    fault = move.faults[0]
    if fault.rule == "closed":
        return f"{names.hide_list(fault.hides)} is not available then"
    first = fault_sentence(fault, names).rstrip(".")
    told = first if _starts_with_name(first, names) else first[:1].lower() + first[1:]
    return told if fault.rule in ("cannot", "absent") else f"otherwise {told}"


def _starts_with_name(sentence: str, names: RotaNames) -> bool:
    return any(sentence.startswith(name) for name in (*names.people, *names.hides, *names.sessions))


def seats_ahead_sentence(name: str, seats: SeatsAhead) -> str:
    """What happens once somebody who sits in the issued rota is set to waiting or cancelled: told before it is done."""
    return (
        f"{isolated(name)} sits in rota {seats.rota}: {'; '.join(seats.turns)}. If you set this place to waiting or "
        "cancelled, their own page says at once that they are off the trip. Mails go out when you issue a repair"
        f"{'.' if seats.by_mail else f'; none reaches {isolated(name)}, so tell them yourself.'}"
    )


def left_sentence(name: str, state: str, seats: SeatsAhead | None) -> str:
    """That somebody is off the trip: who sits where they did, whether a mail went out, what to do."""
    begins = f"{isolated(name)} is {state}."
    if seats is None:
        return f"{begins} They have no turn ahead in an issued rota, so no mail goes out."
    told = "They and everyone affected" if seats.by_mail else "Everyone else affected"
    return (
        f"{begins} Rota {seats.rota} still seats them: {'; '.join(seats.turns)}. No mail went out yet. Repair the rota "
        f"and issue it. {told} then get a mail{'.' if seats.by_mail else f'; {isolated(name)} you tell yourself.'}"
    )


def issued_sentence(number: int, concerned: int, by_leader: int) -> str:
    """That a rota is issued: `concerned` people hear of it, `by_leader` of them from their leader alone."""
    begins = f"Rota {number} is issued"
    if not concerned:
        return f"{begins}. It changes nothing for anybody."
    if not by_leader:
        return f"{begins}; everyone affected gets an e-mail."
    whom = count_text(by_leader, "person is", "people are")
    others = "the others are told by e-mail" if by_leader < concerned else "nobody is told by e-mail"
    return f"{begins}; {whom} to be told by you, {others}."
