"""Meals against the returns of a day, and days that eat alike."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from trips.documents.meals import AwayLine, DayMeals, MealLine, days_alike, missed_meals


def test_a_meal_is_held_against_every_return_and_against_who_leaves_at_once():
    """Two cars back at different times, one that leaves minutes after, and one of the night before."""
    at = datetime(2027, 5, 9, 11, 15, tzinfo=ZoneInfo("Europe/Madrid"))
    away = [
        AwayLine(at - timedelta(hours=5), at + timedelta(minutes=5), 3),
        AwayLine(at - timedelta(hours=5), at + timedelta(minutes=10), 2),
        AwayLine(at - timedelta(hours=5), at, 4),
        AwayLine(at + timedelta(minutes=2), at + timedelta(hours=4), 5),
        AwayLine(at + timedelta(minutes=20), at + timedelta(hours=4), 6),
    ]
    assert missed_meals(at.date(), [MealLine(at.time(), "Brunch")], away) == (
        "Brunch 11:15: 3 people are away 06:15–11:20, 2 people are away 06:15–11:25 and 5 people leave at 11:17. "
        "Move it or pack it.",
    )
    night = AwayLine(at - timedelta(hours=13), at - timedelta(hours=3), 1)
    coffee = MealLine((at - timedelta(hours=4)).time(), "Coffee")
    assert missed_meals(at.date(), [coffee], [night]) == (
        "Coffee 07:15: 1 person is away 22:15–08:15 Sun. Move it or pack it.",
    )


def test_days_in_a_row_with_the_same_meals_are_one_row():
    brunch, dinner = MealLine(time(11), "Brunch"), MealLine(time(22), "Dinner")
    days_of = [DayMeals(date(2027, 5, day), own) for day, own in ((8, (dinner,)), (9, (brunch,)), (10, (brunch,)))]
    later = DayMeals(date(2027, 5, 12), (brunch,))
    assert days_alike([*days_of, later]) == (
        ("Sat 8 May", (dinner,)), ("Sun 9 May to Mon 10 May", (brunch,)), ("Wed 12 May", (brunch,)),
    )  # fmt: skip
