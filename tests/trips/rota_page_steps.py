"""Addresses of a rota and its turns."""

from django.urls import reverse

from trips.models import Hide


def url(name, trip, **more):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def text(answer):
    return answer.content.decode()


def turn_url(rota, turn, name="turn-edit"):
    return url(name, rota.trip, number=rota.number, session_uuid=turn.session.uuid, who=str(turn.place.uuid))


def a_turn(rota):
    return (
        rota.turns.filter(place__isnull=False).select_related("session", "place__participant", "hide", "seat").first()
    )


def free_seat(rota, turn):
    taken = rota.turns.filter(session=turn.session).values_list("seat_id", flat=True)
    hides = Hide.objects.filter(site=turn.session.site)
    return next(seat for hide in hides for seat in hide.seats.all() if seat.pk not in taken and hide != turn.hide)
