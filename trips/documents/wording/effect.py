"""What a change of a rota by hand would do, before it is confirmed."""

from datetime import datetime

from trips.core.rota.check.seating import Fault
from trips.core.rota.edit.hand_edits import Effect
from trips.core.rota.explain.promises import told_share
from trips.core.rota.problem.values import LEADER, Plan
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import WHOLE_GROUP, RotaNames, starting
from trips.documents.wording.sessions import session_hours


def effect_sentences(effect: Effect, before: Plan, names: RotaNames) -> list[str]:
    """Who moves where, whose share moves by how much, what becomes of the worst share."""
    told = _moves(effect, before, names) + [
        f"The leader gives up the seat in {names.hides[hide]} ({names.sessions[session]})."
        for session, hide in effect.leader_gave_way
    ]
    after = effect.after
    if after is None:
        return told
    pairs = zip(effect.before.shares, after.shares, strict=True)
    for person, (old, new) in enumerate(pairs):
        if (was := told_share(old)) != (now := told_share(new)):
            told.append(f"{names.people[person]}: share {was:.2f} → {now:.2f}.")
    was, now = told_share(effect.before.worst_share), told_share(after.worst_share)
    if was != now:
        told.append(f"The lowest fair share goes from {was:.2f} to {now:.2f}.")
    for old_count, new_count, word in (
        (sum(effect.before.rests), sum(after.rests), "rests"),
        (effect.before.demand_excess, after.demand_excess, "unevenly shared turns in sought-after hides"),
        (effect.before.without_turn, after.without_turn, "people without a turn in a sought-after hide"),
    ):
        if old_count != new_count:
            told.append(f"{word[:1].upper()}{word[1:]}: {old_count} → {new_count}.")
    return told or ["Nobody's share changes."]


def _moves(effect: Effect, before: Plan, names: RotaNames) -> list[str]:
    told = []
    for turn in effect.plan.turns:
        if turn not in before.turns:
            seat = f", {names.seats[turn.hide][turn.seat]}" if names.seats and turn.seat >= 0 else ""
            stay = ", and stays through the break" if turn.stays else ""
            where = f"{names.hides[turn.hide]}{seat}"
            who = starting(names.person(turn.person))
            told.append(f"{who} sits in {where} ({names.sessions[turn.session]}){stay}.")
    leading = {turn.session for turn in effect.plan.turns if turn.person == LEADER}
    told += [
        f"The leader takes no seat ({names.sessions[turn.session]})."
        for turn in before.turns
        if turn.person == LEADER
        and turn.session not in leading
        and (turn.session, turn.hide) not in effect.leader_gave_way
    ]
    told += [
        f"{names.people[person]} rests ({names.sessions[session]})."
        for person, session in effect.plan.rests
        if (person, session) not in before.rests
    ]
    return told


def broken_rules(effect: Effect, names: RotaNames) -> list[str]:
    """The rules that the change would break; empty when it may be saved."""
    return [fault_sentence(fault, names) for fault in effect.faults]


def still_to_mend(effect: Effect, names: RotaNames) -> list[str]:
    """What would stand against issuing the rota after the change, though the change may be saved."""
    return [fault_sentence(fault, names) for fault in effect.left]


def unsound_sentences(faults: tuple[Fault, ...], names: RotaNames) -> list[str]:
    """What a draft says in place of its guarantee while rules stand against it. Who is kept apart is not told."""
    told = [
        f"Somebody cannot stay in {names.hide_list(fault.hides)} ({names.session_list(fault.sessions)}), {WHOLE_GROUP}."
        if fault.rule == "apart"
        else fault_sentence(fault, names)
        for fault in faults
    ]
    return ["This draft breaks rules. Fix these before you issue it.", *told]


def pin_words(who: str, where: str, hours: tuple[str, datetime, datetime], *, is_pinned: bool) -> str:
    """What a pin, or taking it off, is noted as."""
    return f"{'pinned' if is_pinned else 'pin taken off'}: {who} in {where} ({session_hours(*hours)})"
