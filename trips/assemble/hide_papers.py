"""Rows into door cards, the gear table and registration forms."""

from dataclasses import replace

from participants.core.gear import LIST_OF
from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.language import language
from participants.speaking import language_of
from trips.assemble.loans import gear_away_words
from trips.assemble.places import point_value
from trips.assemble.presence_and_states import gear_brought
from trips.assemble.trip import TripValues
from trips.documents.briefing import PaperHead
from trips.documents.door_card import DoorCard
from trips.documents.etiquette import etiquette_for
from trips.documents.gear_table import GearTable, gear_line, loan_text, missing_supports, missing_texts
from trips.documents.quantities import Fact, distance_range, fact, position_text
from trips.documents.registration_form import RegistrationForm, form_parts
from trips.documents.safety import DEFERS
from trips.documents.wording.advice import compass_text
from trips.models import GearAway, Hide, Place, View
from trips.models.gear_away import PIECES

KNOWN_QUESTIONS = (
    (noted("Name"), "name"),
    (noted("Telephone"), "phone"),
    (noted("E-mail, if you have one"), "email"),
    (noted("Emergency contact"), "emergency_contact"),
    (noted("Food you do not eat"), "diet"),
)


def door_cards(values: TripValues, head: PaperHead) -> dict[str, DoorCard]:
    """The card of each hide by the hide's uuid; the only paper that carries a hide's position."""
    return {str(row.uuid): _door_card(row, head, values.trip.units) for row in values.hide_rows}


def gear_table(values: TripValues, head: PaperHead) -> GearTable:
    """Everybody's gear, the supports they miss, what could be lent, what is lent or lost, and who is a guest."""
    wanted: dict[str, tuple[str, ...]] = {}
    for hide in values.hide_rows:
        if hide.support:
            wanted[hide.support] = (*wanted.get(hide.support, ()), hide.name)
    lines, lacking = [], {}
    for row in values.place_rows:
        gear, name = gear_brought(values, row), row.participant.name
        missing = missing_supports(gear, wanted) if row.photographs and gear.is_entered else {}
        lacking[name] = set(missing)
        line = gear_line(name, gear, units=values.trip.units, photographs=row.photographs)
        lines.append(replace(line, missing=missing_texts(missing)))
    away = tuple(_away_text(row, values) for row in values.away_rows)
    return GearTable(head, tuple(lines), _loans(values, lacking), away)


def _away_text(row: GearAway, values: TripValues) -> str:
    """ "Bruno: 300 mm f/4, lent to Zofia, Saturday early to Sunday late"."""
    return f"{loan_text(row.piece.participant.name, row.piece.name, ())}, {gear_away_words(row, values)}"


def _loans(values: TripValues, lacking: dict[str, set[str]]) -> tuple[str, ...]:
    """What people would lend and have with them; a support with the names of those who miss it."""
    found = []
    for row in values.place_rows:
        here = gear_brought(values, row)
        for kind in PIECES:
            for piece in getattr(row.participant, LIST_OF[kind]).all():
                if piece.spare and here.piece(kind, str(piece.uuid)):
                    lent = getattr(piece, "kind", "")
                    useful = tuple(name for name, kinds in lacking.items() if lent in kinds)
                    found.append(loan_text(row.participant.name, piece.name, useful))
    return tuple(found)


def registration_forms(values: TripValues, head: PaperHead) -> tuple[RegistrationForm, ...]:
    """In the language in use: a blank form, and one for each person of that language who reads on paper, with what the
    leader knows already."""
    asked = (tuple(subject.said for subject in values.subjects), tuple(hide.name for hide in values.hides))
    leader = values.trip.leader.get_full_name() or values.trip.leader.get_username()
    blank = RegistrationForm(head, form_parts(*asked), send_to=leader)
    return (
        blank,
        *(
            RegistrationForm(head, form_parts(*asked, _known(row)), row.participant.name, leader)
            for row in values.place_rows
            if row.participant.on_paper and language_of(row.participant) == language()
        ),
    )


def _known(place: Place) -> tuple[tuple[str, str], ...]:
    person = place.participant
    return tuple((_(question), str(getattr(person, field))) for question, field in KNOWN_QUESTIONS)


def rescue_facts(row: Hide) -> tuple[Fact, ...]:
    """Where help comes to, and whom to reach, in the language in use; never a position."""
    site = row.site
    return (
        fact(_("Rescue point"), row.rescue_point or site.rescue_point),
        fact(_("Nearest road"), row.nearest_road),
        fact(_("Hospital"), site.hospital),
        fact(_("Owner"), ", ".join(isolated(part) for part in (site.owner, site.owner_contact) if part)),
        fact(_("Phone coverage"), site.phone_coverage),
        fact(_("Radio"), site.radio),
    )


def _door_card(row: Hide, head: PaperHead, units: str) -> DoorCard:
    site, seats = row.site, list(row.seats.all())
    own = row.latitude_deg is not None
    point = point_value(site, row)
    position = position_text(point.latitude_deg, point.longitude_deg)
    return DoorCard(
        head=head,
        hide=row.name,
        call=fact(_("Call"), site.emergency_number),
        coverage=fact(_("Phone coverage"), site.phone_coverage),
        emergency=(
            Fact(_("You are at") if own else _("The estate, not this hide, is at"), position),
            *(one for one in rescue_facts(row) if one.label != _("Phone coverage")),
        ),
        written=() if own else (_("This hide is at"),),
        facts=(
            fact(_("Seats"), ", ".join(isolated(seat.name) for seat in seats)),
            *(Fact(view.name, _view_text(view, units)) for view in row.views.all()),
        ),
        cautions=(row.cautions,) if row.cautions.strip() else (),
        etiquette=etiquette_for(len(seats) > 1, ((row.name, row.etiquette),)),
        defers=_(DEFERS),
    )


def _view_text(view: View, units: str) -> str:
    perch = distance_range(view.near_m, view.far_m, units)
    return _("looks {bearing}, perch at {distance}", bearing=compass_text(view.bearing_deg), distance=perch)
