"""The words of the house in plain English, each used for one thing; a page links to one by its key."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Word:
    """One word and what it means."""

    word: str
    meaning: str

    @property
    def key(self) -> str:
        """The word as it stands in addresses."""
        return self.word.lower().replace(" ", "-")


@dataclass(frozen=True)
class Chapter:
    """Words that belong together, with their meanings."""

    key: str
    title: str
    meanings: dict[str, str]

    @property
    def words(self) -> tuple[Word, ...]:
        """The words in their order."""
        return tuple(Word(word, meaning) for word, meaning in self.meanings.items())


PLACES = Chapter(
    "places",
    "Places",
    {
        "site": "The estate: its place, time zone, lodge, meeting point, owner and emergency facts.",
        "hide": "A structure that people sit in. It has seats and one or more views.",
        "view": "One opening of a hide: where the lens axis looks, how far the subject is, the horizon, glass or open.",
        "bearing": "Where a view looks: degrees from true north, clockwise, from the seat to the subject. A compass "
        "shows magnetic north; the page puts the difference right.",
        "seat": "One person's position in a hide, with a quality from 1 to 5. Every seat uses all views of its hide; "
        "otherwise enter the hide as two.",
        "perch": "Where you expect the subject: the nearest and farthest distance from the sensor.",
        "horizon": "How high hills and trees stand around a view, by direction. Below it the sun gives no light there.",
        "sought-after": "A hide that everyone wants. Its turns are shared out before anything else.",
        "availability": "Whether the owner lets you use a hide in a session: ready, with notice, or unavailable.",
        "assumed": "Nobody measured this, so a default is used. An assumed value never makes a fault by itself.",
    },
)
ANIMALS = Chapter(
    "animals",
    "Animals, gear and light",
    {
        "subject": "A species that people want on the trip, with the length of grown animals.",
        "chance": "How likely a subject comes to a hide in a kind of session: nearly always, often, sometimes, rarely, "
        "none.",
        "gear": "What a person brings: bodies, lenses, teleconverters, extension tubes, supports.",
        "reach": "What somebody's gear can do in a view: the best set of lens and accessories, and a verdict from good "
        "to cannot focus here.",
        "fill": "The share of the frame's long side that the subject takes up.",
        "light": "What the sun does for a view during a session. Front: the sun is behind the seat, up to 45° off. "
        "Side: up to 120°. Back: beyond. Top: the sun is higher than 50°. None: it is down or behind the horizon.",
        "score": "How good the light is, from 0 to 1. A session counts with its best hour and a half.",
        "scoring": "The trip's numbers that turn light and reach into scores, verdicts and points.",
        "EV": "Exposure value: how bright it is, in stops, at ISO 100. Computed, so always ± 1 stop.",
    },
)
PEOPLE = Chapter(
    "people",
    "People and turns",
    {
        "participant": "A person you know, on this trip or another.",
        "place": "That person's place on one trip: when they come and go, limits and wishes.",
        "sign-in link": "The address, mailed or handed over, that signs a participant in.",
        "limit": "What somebody cannot do (steps, a walk, an entrance, hours): they get no such hide. Or would rather "
        "not: such a hide counts half.",
        "votes": "Each person spends six votes on the subjects they most want to see.",
        "session": "One stretch in the hides, with a start and an end: early, midday, late or night.",
        "turn": "One person in one seat in one session.",
        "visit": "One stay in a hide. A later visit to the same hide loses points, to spread people.",
        "rest": "A session without a turn, where you allowed rests.",
        "hand-over": "Two people share one seat in a session and change over at a set time.",
        "good turn": "At least 60 minutes of light scoring 0.6 or more by that person's wish, and gear that can focus "
        "there.",
        "hardship": "A walk above 200 m one way, or heat at or above the session's limit. Hardships are spread.",
    },
)
ROTAS = Chapter(
    "rotas",
    "Rotas",
    {
        "rota": "All turns of a trip, numbered. A draft is yours alone; an issued one is for everybody.",
        "points": "From 0 to 100: how good one seat in one session is for one person, from wishes, light and reach.",
        "fair share": "A person's points in a rota divided by the best that person could get if nobody else were "
        "there. 0.80 means four fifths of their own best.",
        "lowest fair share": "The fair share of the person who has the least. The planner makes it as high as "
        "possible.",
        "best possible": "The value that no rota can beat: no rota that shares out sought-after hides and rests as "
        "evenly has a higher lowest fair share. The gap is how far the rota found is below it.",
        "search time": "How long the planner may search: quick is about 5 seconds, normal up to a minute, thorough "
        "goes on until nothing better is possible or you stop it.",
        "pin": "A turn that you fix before planning; the planner works around it.",
        "draw number": "The number that decides ties. The same rules, people and draw number give the same rota.",
        "tolerance": "What a later wish may cost an earlier one, once in all. 0.01 is one per cent.",
        "repair": "A new rota after something changed, with as few changes for people as possible.",
    },
)
ROAD = Chapter(
    "road",
    "On the road",
    {
        "round": "One car's way from the lodge to the hides of a session, and the people it drops.",
        "leave": "When a car sets out, from the lodge or, where the site says so, from the meeting point.",
        "in place": "When people sit, ready and quiet: the hide's own rule before sunrise, or the session's start.",
        "pick-up window": "From when to when the car comes back; people wait for the agreed signal.",
        "notice": "What one person is told of an issue, with what changed for them alone.",
    },
)
CHAPTERS = (PLACES, ANIMALS, PEOPLE, ROTAS, ROAD)
WORDS = {word.key: word for chapter in CHAPTERS for word in chapter.words}
