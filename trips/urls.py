from django.urls import URLPattern, URLResolver

app_name = "trips"

urlpatterns: list[URLPattern | URLResolver] = []
