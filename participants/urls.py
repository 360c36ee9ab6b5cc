from django.urls import URLPattern, URLResolver

app_name = "participants"

urlpatterns: list[URLPattern | URLResolver] = []
