"""All addresses of trips, by room of the house."""

from django.urls import path

from trips.views import (
    board,
    day,
    estate,
    feeds,
    gear,
    gear_table,
    hide,
    light,
    meal,
    my_data,
    my_days,
    my_forms,
    my_papers,
    papers,
    people_csv,
    person,
    rota,
    scoring,
    session,
    subject,
    survey,
    told,
    trip,
    turn,
)

TRIP = "trips/<uuid:trip_uuid>/"
PLACE = f"{TRIP}people/<uuid:place_uuid>/"
SESSION = f"{TRIP}sessions/<uuid:session_uuid>/"
MEAL = f"{TRIP}meals/<uuid:meal_uuid>/"
DAY = f"{TRIP}day/<uuid:session_uuid>/"
ROTA = f"{TRIP}rota/<int:number>/"
MAKING = f"{TRIP}rota/making/<uuid:making_uuid>/"
TURN = f"{ROTA}turn/<uuid:session_uuid>/<str:who>/"
SITE = "sites/<uuid:site_uuid>/"
HIDE = "hides/<uuid:hide_uuid>/"
SUBJECT = "subjects/<uuid:subject_uuid>/"
MY = "my/<uuid:person_uuid>/"  # pages of participants that know trips
PIECE = f"{MY}kit/<slug:kind>/<uuid:piece_uuid>/"

app_name = "trips"
urlpatterns = [
    path("words/", trip.glossary, name="glossary"),
    path("leader/", trip.leader_edit, name="leader-edit"),
    # Trips and their rules
    path("trips/", trip.trip_list, name="trip-list"),
    path("trips/new/", trip.trip_new, name="trip-new"),
    path(TRIP, trip.trip_show, name="trip-show"),
    path(f"{TRIP}edit/", trip.trip_edit, name="trip-edit"),
    path(f"{TRIP}rules/", trip.rules_edit, name="rules-edit"),
    path(f"{TRIP}rules/defaults/", scoring.rules_default, name="rules-default"),
    path(f"{TRIP}scoring/", scoring.scoring_edit, name="scoring-edit"),
    path(f"{TRIP}scoring/defaults/", scoring.scoring_default, name="scoring-default"),
    # People of a trip
    path(f"{TRIP}people/", person.person_list, name="person-list"),
    path(f"{TRIP}people/new/", person.person_new, name="person-new"),
    path(f"{TRIP}people/join/", person.person_join, name="person-join"),
    path(f"{TRIP}people/pairings/", person.pairing_list, name="pairing-list"),
    path(f"{TRIP}people/pairings/<uuid:pairing_uuid>/delete/", person.pairing_delete, name="pairing-delete"),
    path(PLACE, person.person_edit, name="person-edit"),
    path(f"{PLACE}place/", person.place_edit, name="place-edit"),
    path(f"{PLACE}absences/", person.absences_edit, name="absences-edit"),
    path(f"{PLACE}remove/", person.person_remove, name="person-remove"),
    path(f"{TRIP}people/people.csv", people_csv.people_export, name="people-export"),
    path(f"{TRIP}people/import/", people_csv.people_import, name="people-import"),
    # Sessions and meals
    path(f"{TRIP}sessions/", session.session_list, name="session-list"),
    path(f"{TRIP}sessions/make/", session.sessions_make, name="sessions-make"),
    path(f"{TRIP}sessions/new/", session.session_new, name="session-new"),
    path(SESSION, session.session_edit, name="session-edit"),
    path(f"{SESSION}remove/", session.session_remove, name="session-remove"),
    path(f"{TRIP}meals/", meal.meal_list, name="meal-list"),
    path(f"{TRIP}meals/copy/", meal.meals_copy_days, name="meals-copy"),
    path(MEAL, meal.meal_edit, name="meal-edit"),
    path(f"{MEAL}remove/", meal.meal_remove, name="meal-remove"),
    # Rotas: shown, made, changed, issued, compared, told
    path(f"{TRIP}rota/", rota.rota_show, name="rota-show"),
    path(f"{TRIP}rota/make/", rota.rota_make, name="rota-make"),
    path(f"{TRIP}rota/making/", rota.rota_making, name="rota-making"),
    path(f"{MAKING}stop/", rota.rota_stop, name="rota-stop"),
    path(f"{MAKING}remedy/<int:number>/", rota.remedy_take, name="remedy-take"),
    path(f"{TRIP}rota/history/", rota.rota_history, name="rota-history"),
    path(ROTA, rota.rota_show, name="rota-number"),
    path(f"{ROTA}issue/", rota.rota_issue_confirm, name="rota-issue"),
    path(f"{ROTA}change/", rota.rota_change_day, name="rota-change"),
    path(f"{ROTA}withdraw/", rota.rota_withdraw, name="rota-withdraw"),
    path(TURN, turn.turn_edit, name="turn-edit"),
    path(f"{TURN}why/", turn.turn_why_show, name="turn-why"),
    path(f"{TURN}pin/", turn.turn_pin_set, name="turn-pin"),
    path(f"{ROTA}undo/<uuid:change_uuid>/", turn.turn_undo, name="turn-undo"),
    path(f"{TRIP}told/", told.told_list, name="told-list"),
    path(f"{TRIP}told/<uuid:notice_uuid>/", told.told_tick, name="told-tick"),
    # On the day: cars, availability, who is out and back
    path(f"{TRIP}board/", board.board_show, name="board-show"),
    path(f"{TRIP}day/", day.day_show, name="day-show"),
    path(f"{TRIP}cars/", day.cars_edit, name="cars-edit"),
    path(f"{DAY}owner/", day.availability_edit, name="availability-edit"),
    path(f"{DAY}rounds/", day.runs_edit, name="runs-edit"),
    path(f"{DAY}out/", day.out_show, name="out-show"),
    path(f"{DAY}out/tick/", day.out_tick, name="out-tick"),
    # Papers of a trip, and calendars behind addresses of their own
    path(f"{TRIP}papers/", papers.papers, name="papers"),
    path(f"{TRIP}papers/print/", papers.papers_print, name="papers-print"),
    path(f"{TRIP}papers/made/", papers.papers_made, name="papers-made"),
    path(f"{TRIP}papers/pack/<uuid:pack_uuid>/", papers.papers_pack, name="papers-pack"),
    path(f"{TRIP}papers/address/", papers.papers_address, name="papers-address"),
    path("calendar/<str:token>.ics", feeds.feed_show, name="feed-show"),
    # Sites, hides, their light, seats and subjects
    path(f"{TRIP}hides/", hide.trip_hides, name="trip-hides"),
    path(f"{TRIP}hides/seats/", subject.seat_table, name="seat-table"),
    path(f"{TRIP}light/", light.trip_light, name="trip-light"),
    path("sites/new/", hide.site_new, name="site-new"),
    path(SITE, hide.site_edit, name="site-edit"),
    path(f"{SITE}planners/give/", estate.planner_allow, name="planner-allow"),
    path(f"{SITE}planners/withdraw/", estate.planner_refuse, name="planner-refuse"),
    path(f"{SITE}calendar/", estate.site_address, name="site-address"),
    path(f"{SITE}hides/new/", hide.hide_new, name="hide-new"),
    path(HIDE, hide.hide_edit, name="hide-edit"),
    path(f"{HIDE}light/", light.hide_light, name="hide-light"),
    path(f"{HIDE}remove/", hide.hide_remove, name="hide-remove"),
    path(f"{HIDE}survey/", survey.hide_survey, name="hide-survey"),
    path(f"{HIDE}subjects/", subject.hide_subjects, name="hide-subjects"),
    path("subjects/", subject.subject_list, name="subject-list"),
    path("subjects/new/", subject.subject_new, name="subject-new"),
    path(SUBJECT, subject.subject_edit, name="subject-edit"),
    path(f"{SUBJECT}remove/", subject.subject_remove, name="subject-remove"),
    path("contact.json", survey.leader_contact, name="leader-contact"),
    # Gear: a person's pages, and the group's table for the leader
    path(f"{MY}kit/", gear.gear_show, name="gear-show"),
    path(f"{MY}kit/picture/", gear.gear_picture, name="gear-picture"),
    path(f"{MY}kit/picture/save/", gear.picture_save, name="picture-save"),
    path(f"{MY}kit/add/<slug:kind>/", gear.piece_new, name="piece-new"),
    path(f"{MY}kit/try/<slug:kind>/", gear.piece_try, name="piece-try"),
    path(PIECE, gear.piece_edit, name="piece-edit"),
    path(f"{PIECE}remove/", gear.piece_remove, name="piece-remove"),
    path(f"{PIECE}lost/", gear.piece_lost, name="piece-lost"),
    path(f"{PIECE}found/", gear.piece_found, name="piece-found"),
    path(f"{MY}packing/", gear.packing_show, name="packing-show"),
    path(f"{TRIP}gear/", gear_table.gear_table, name="gear-table"),
    path(f"{TRIP}gear/away/", gear_table.gear_away_edit, name="gear-away-new"),
    path(f"{TRIP}gear/away/<uuid:away_uuid>/", gear_table.gear_away_edit, name="gear-away-edit"),
    path(f"{TRIP}gear/away/<uuid:away_uuid>/remove/", gear_table.gear_away_remove, name="gear-away-remove"),
    path(f"{TRIP}gear/kit.csv", people_csv.gear_export, name="gear-export"),
    # A participant's days, wishes, data, briefing and calendar
    path(MY, my_days.my_start, name="my-start"),
    path(f"{MY}pack.json", my_days.my_pack, name="my-pack"),
    path(f"{MY}days/", my_days.my_days, name="my-days"),
    path(f"{MY}days/read/", my_days.my_days_read, name="my-days-read"),
    path(f"{MY}drawings/<uuid:session_uuid>/<int:number>.svg", my_days.my_drawing, name="my-drawing"),
    path(f"{MY}wishes/", my_forms.my_wishes_edit, name="my-wishes"),
    path(f"{MY}details/", my_forms.my_details, name="my-details"),
    path(f"{MY}health/", my_forms.my_health, name="my-health"),
    path(f"{MY}data/", my_data.my_data_show, name="my-data"),
    path(f"{MY}data/file/", my_data.my_data_file, name="my-data-file"),
    path(f"{MY}data/erase/", my_data.my_data_erase, name="my-data-erase"),
    path(f"{MY}briefing/", my_papers.my_briefing_show, name="my-briefing"),
    path(f"{MY}briefing.pdf", my_papers.my_briefing_file, name="my-briefing-file"),
    path(f"{MY}calendar/", my_papers.my_calendar, name="my-calendar"),
    path(f"{MY}calendar/turns.ics", my_papers.my_calendar_file, name="my-calendar-file"),
    path(f"{MY}calendar/replace/", my_papers.my_calendar_replace, name="my-calendar-replace"),
]
