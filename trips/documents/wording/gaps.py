"""What a trip still lacks, in words."""

from dataclasses import dataclass

# kind: (what is missing, after the names it is about; what it means; where it is mended)
SENTENCES: dict[str, tuple[str, str, str]] = {
    "no_site": ("This trip has no site yet.", "A site holds the hides, the place and its time zone.", "site"),
    "no_hides": ("The site has no hides yet.", "Name, seats, bearing and distance are enough to begin.", "hide"),
    "no_people": ("Nobody is on the trip yet.", "Add people by name; e-mail is optional.", "person"),
    "no_sessions": (
        "There are no sessions yet.",
        "They can be made from rules such as 30 min before sunrise.",
        "session",
    ),
    "session_outside": (
        "{is} not on a day of the trip.",
        "Change the session, or the trip's days.",
        "session",
    ),
    "no_car": ("No car is named.", "One car with room for all is then assumed.", "car"),
    "hide_without_seats": ("{has} no seats.", "Nobody can be put there.", "hide"),
    "hide_without_views": ("{has} no view.", "Without a bearing and a distance there is no light.", "hide"),
    "hide_without_horizon": ("{has} no horizon.", "An open horizon is assumed.", "hide"),
    "hide_without_subjects": ("{has} no subjects.", "Reach is then judged by the distance alone.", "hide"),
    "people_without_gear": ("{has} no gear.", "Their reach is not known, and counts as good.", "person"),
    "people_gear_unusable": (
        "{has} no usable lens or body from a session on.",
        "The gear page says from which. They cannot photograph from then on: find a loan, or let them rest.",
        "person",
    ),
    "people_without_wishes": ("{has} spent no votes.", "All subjects then count alike.", "person"),
    "people_not_confirmed": ("{has} not confirmed.", "The planner counts them in.", "person"),
    "no_leader_phone": (
        "{has} no telephone.",
        "Pages, briefings and door cards say “to follow” there.",
        "leader",
    ),
    "no_leader_email": (
        "{has} no e-mail.",
        "They get no mail when their seat changes, and cannot reset a lost password.",
        "leader",
    ),
    "site_closed": (
        "{is} closed to this trip.",
        "Ask the site's leader before you add sessions or open its hides.",
        "site",
    ),
    "site_facts": (
        "{is} short of a meeting point, an emergency number, a hospital or a rescue point.",
        "Papers say “to follow”.",
        "site",
    ),
}
ONE, SEVERAL = {"has": "has", "is": "is"}, {"has": "have", "is": "are"}
WRONG = {"session_outside"}  # no default stands in: two things that the leader said do not go together
STOPS_A_ROTA = {"no_site", "no_hides", "no_people", "no_sessions", "hide_without_seats", "hide_without_views"}


@dataclass(frozen=True)
class Concerned:
    """One site, hide or person that a gap is about: its name, and the uuid by which its page is found."""

    name: str
    key: str = ""


@dataclass(frozen=True)
class Gap:
    """One thing a trip lacks: its kind and what it is about."""

    kind: str
    concerned: tuple[Concerned, ...] = ()

    @property
    def stops_a_rota(self) -> bool:
        """Whether no rota can be made before it is mended."""
        return self.kind in STOPS_A_ROTA

    @property
    def is_wrong(self) -> bool:
        """Whether it contradicts something else."""
        return self.kind in WRONG

    @property
    def mended_at(self) -> str:
        """What kind of page mends it: site, hide, person, leader, session or car."""
        return SENTENCES[self.kind][2]

    @property
    def lacks(self) -> str:
        """What is missing; where it is about somebody or something, the words that follow their names."""
        return SENTENCES[self.kind][0].format(**(SEVERAL if len(self.concerned) > 1 else ONE))

    @property
    def meaning(self) -> str:
        """What that means for the plan."""
        return SENTENCES[self.kind][1]
