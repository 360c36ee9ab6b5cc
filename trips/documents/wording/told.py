"""What a leader reads of those who are told."""

from trips.documents.quantities import count_text


def issued_sentence(number: int, concerned: int, by_leader: int) -> str:
    """That a rota is issued: `concerned` people hear of it, `by_leader` of them from their leader alone."""
    begins = f"Rota {number} is issued"
    if not concerned:
        return f"{begins}. It changes nothing for anybody."
    if not by_leader:
        return f"{begins}; everybody whom it changes something for is told by e-mail."
    whom = count_text(by_leader, "person is", "people are")
    others = "the others are told by e-mail" if by_leader < concerned else "nobody is told by e-mail"
    return f"{begins}; {whom} to be told by you, {others}."
