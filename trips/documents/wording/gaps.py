"""What a trip still lacks, in words."""

from dataclasses import dataclass

NAMES_SHOWN = 4

# kind: (one, several or without names, what it means, where it is mended)
SENTENCES: dict[str, tuple[str, str, str]] = {
    "no_site": ("This trip has no site yet.", "A site holds the hides, the place and its time zone.", "site"),
    "no_hides": ("The site has no hides yet.", "Name, seats, bearing and distance are enough to begin.", "hide"),
    "no_people": ("Nobody is on the trip yet.", "Add people by name; e-mail is optional.", "person"),
    "no_sessions": (
        "There are no sessions yet.",
        "They can be made from rules such as 30 min before sunrise.",
        "session",
    ),
    "no_car": ("No car is named.", "Call times are then worked out for one car with room for all.", "car"),
    "hide_without_seats": ("{names} {has} no seats.", "Nobody can be put there.", "hide"),
    "hide_without_views": ("{names} {has} no window.", "Without a bearing and a distance there is no light.", "hide"),
    "hide_without_horizon": ("{names} {has} no horizon.", "An open horizon is assumed, and said so.", "hide"),
    "hide_without_subjects": ("{names} {has} no subjects.", "Reach is then judged by the distance alone.", "hide"),
    "people_without_gear": ("{names} {has} no gear.", "Their reach is not known, and counts as good.", "person"),
    "people_without_wishes": ("{names} {has} spent no marks.", "All subjects then count alike.", "person"),
    "people_not_confirmed": ("{names} {has} not confirmed.", "They are planned for all the same.", "person"),
    "site_facts": (
        "{names} {has} no meeting point, emergency facts or rescue point.",
        "Papers say “to follow”.",
        "site",
    ),
}
STOPS_A_ROTA = {"no_site", "no_hides", "no_people", "no_sessions", "hide_without_seats", "hide_without_views"}


@dataclass(frozen=True)
class Gap:
    """One thing a trip lacks: its kind and the names it is about."""

    kind: str
    names: tuple[str, ...] = ()

    @property
    def stops_a_rota(self) -> bool:
        """Whether no rota can be made before it is mended."""
        return self.kind in STOPS_A_ROTA

    @property
    def mended_at(self) -> str:
        """What kind of page mends it: site, hide, person, session or car."""
        return SENTENCES[self.kind][2]

    @property
    def sentence(self) -> str:
        """What is missing."""
        return SENTENCES[self.kind][0].format(names=name_list(self.names), has="have" if len(self.names) > 1 else "has")

    @property
    def meaning(self) -> str:
        """What that means for the plan."""
        return SENTENCES[self.kind][1]


def name_list(names: tuple[str, ...] | list[str]) -> str:
    """Names as people say them: "Ana", "Ana and Ben", "Ana, Ben, Cem, Dita and 3 more"."""
    shown = list(names)
    if len(shown) > NAMES_SHOWN + 1:
        return f"{', '.join(shown[:NAMES_SHOWN])} and {len(shown) - NAMES_SHOWN} more"
    if len(shown) > 1:
        return f"{', '.join(shown[:-1])} and {shown[-1]}"
    return shown[0] if shown else ""
