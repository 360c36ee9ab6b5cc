"""The words of the house in plain English, each used for one thing; a page links to one by its key."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Word:
    """One word and what it means; `key` stands in addresses."""

    key: str
    word: str
    meaning: str


@dataclass(frozen=True)
class Chapter:
    """Words that belong together."""

    key: str
    title: str
    words: tuple[Word, ...]


PLACES = Chapter(
    "places",
    "Places",
    (
        Word("site", "site", "The estate: its place, time zone, lodge, meeting point, owner and emergency facts."),
        Word("hide", "hide", "A structure that people sit in. It has seats and one or more views."),
        Word(
            "view",
            "view",
            "One opening of a hide: where the lens axis looks, how far the subject is, the horizon, glass or open.",
        ),
        Word(
            "bearing",
            "bearing",
            "Where a view looks: degrees from true north, clockwise, from the seat to the subject. A compass shows "
            "magnetic north; the page puts the difference right.",
        ),
        Word(
            "seat",
            "seat",
            "One person's position in a hide, with a quality from 1 to 5. Every seat uses all views of its hide; "
            "otherwise enter the hide as two.",
        ),
        Word("perch", "perch", "Where you expect the subject: the nearest and farthest distance from the sensor."),
        Word(
            "horizon",
            "horizon",
            "How high hills and trees stand around a view, by direction. Below it the sun gives no light there.",
        ),
        Word(
            "sought-after",
            "sought-after",
            "A sought-after hide is one that everybody wants. Turns there are counted and spread before all else.",
        ),
        Word(
            "availability",
            "availability",
            "Whether the owner lets you use a hide in a session: ready, with notice, or unavailable.",
        ),
        Word(
            "assumed",
            "assumed",
            "Nobody measured this, so a default is used. An assumed value never makes a fault by itself.",
        ),
    ),
)
ANIMALS = Chapter(
    "animals",
    "Animals, gear and light",
    (
        Word("subject", "subject", "A species that people want on the trip, with the length of grown animals."),
        Word(
            "chance",
            "chance",
            "How likely a subject comes to a hide in a kind of session: nearly always, often, sometimes, rarely, none.",
        ),
        Word("gear", "gear", "What a person brings: bodies, lenses, teleconverters, extension tubes, supports."),
        Word(
            "reach",
            "reach",
            "What somebody's gear can do in a view: the best set of lens and accessories, and a verdict from good to "
            "cannot focus here.",
        ),
        Word("fill", "fill", "The share of the frame's long side that the subject takes up."),
        Word(
            "light",
            "light",
            "What the sun does for a view during a session. Front: the sun is behind the seat, up to 45° off. Side: up "
            "to 120°. Back: beyond. Top: the sun is higher than 50°. None: it is down or behind the horizon.",
        ),
        Word(
            "score",
            "score",
            "How good the light is, from 0 to 1. A session counts with its best hour and a half.",
        ),
        Word(
            "scoring",
            "scoring",
            "The trip's numbers that turn light and reach into scores, verdicts and points.",
        ),
        Word("ev", "EV", "Exposure value: how bright it is, in stops, at ISO 100. Computed, so always ± 1 stop."),
    ),
)
PEOPLE = Chapter(
    "people",
    "People and turns",
    (
        Word("participant", "participant", "A person whom you know, on this trip or another."),
        Word("place", "place", "That person's place on one trip: when they come and go, limits and wishes."),
        Word("sign-in-link", "sign-in link", "The address, mailed or handed over, that signs a participant in."),
        Word(
            "limit",
            "limit",
            "What somebody cannot do (steps, a walk, an entrance, hours): they get no such hide. Or would rather not: "
            "such a hide counts half.",
        ),
        Word("votes", "votes", "Each person spends six votes on the subjects they most want to see."),
        Word("session", "session", "One stretch in the hides, with a start and an end: early, midday, late or night."),
        Word("turn", "turn", "One person in one seat in one session."),
        Word("visit", "visit", "One stay in a hide. A later visit to the same hide loses points, to spread people."),
        Word("rest", "rest", "A session without a turn, where you allowed rests."),
        Word("hand-over", "hand-over", "Two people share one seat in a session and change over at a set time."),
        Word(
            "good-turn",
            "good turn",
            "At least 60 minutes of light scoring 0.6 or more by that person's wish, and gear that can focus there.",
        ),
        Word(
            "hardship",
            "hardship",
            "A walk above 200 m one way, or heat at or above the session's limit. Hardships are spread.",
        ),
    ),
)
ROTAS = Chapter(
    "rotas",
    "Rotas",
    (
        Word("rota", "rota", "All turns of a trip, numbered. A draft is yours alone; an issued one is for everybody."),
        Word(
            "points",
            "points",
            "From 0 to 100: how good one seat in one session is for one person, from wishes, light and reach.",
        ),
        Word(
            "fair-share",
            "fair share",
            "A person's points in a rota divided by the best that person could get if nobody else were there. 0.80 "
            "means four fifths of their own best.",
        ),
        Word(
            "lowest-fair-share",
            "lowest fair share",
            "The fair share of the person who has the least. The planner makes it as high as possible.",
        ),
        Word(
            "best-possible",
            "best possible",
            "The value that no rota can beat: no rota that shares out sought-after hides and rests as evenly has a "
            "higher lowest fair share. The gap is how far the rota found is below it.",
        ),
        Word(
            "search-time",
            "search time",
            "How long the planner may search: quick is about 5 seconds, normal up to a minute, thorough goes on until "
            "nothing better is possible or you stop it.",
        ),
        Word("pin", "pin", "A turn that you fix before planning; the planner works around it."),
        Word(
            "draw-number",
            "draw number",
            "The number that decides ties. The same rules, people and draw number give the same rota.",
        ),
        Word(
            "tolerance",
            "tolerance",
            "What a later wish may cost an earlier one, once in all. 0.01 is one per cent.",
        ),
        Word("repair", "repair", "A new rota after something changed, with as few changes for people as possible."),
    ),
)
ROAD = Chapter(
    "road",
    "On the road",
    (
        Word("round", "round", "One car's way from the lodge to the hides of a session, and the people it drops."),
        Word(
            "leave", "leave", "When a car sets out, from the lodge or, where the site says so, from the meeting point."
        ),
        Word(
            "in-place",
            "in place",
            "When people sit, ready and quiet: the hide's own rule before sunrise, or the session's start.",
        ),
        Word(
            "pick-up-window",
            "pick-up window",
            "From when to when the car comes back; people wait for the agreed signal.",
        ),
        Word("notice", "notice", "What one person is told of an issue, with what changed for them alone."),
    ),
)
CHAPTERS = (PLACES, ANIMALS, PEOPLE, ROTAS, ROAD)
WORDS = {word.key: word for chapter in CHAPTERS for word in chapter.words}
