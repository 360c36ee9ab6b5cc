"""Papers of a trip, and calendars behind addresses of their own."""

from django.urls import path

from trips.views import feeds, papers

urlpatterns = [
    path("trips/<uuid:trip_uuid>/papers/", papers.papers, name="papers"),
    path("trips/<uuid:trip_uuid>/papers/print/", papers.papers_print, name="papers-print"),
    path("trips/<uuid:trip_uuid>/papers/made/", papers.papers_made, name="papers-made"),
    path("trips/<uuid:trip_uuid>/papers/pack/<uuid:pack_uuid>/", papers.papers_pack, name="papers-pack"),
    path("trips/<uuid:trip_uuid>/papers/address/", papers.papers_address, name="papers-address"),
    path("calendar/<str:token>.ics", feeds.feed_show, name="feed-show"),
]
