"""All addresses of the server."""

from django.urls import include, path

urlpatterns = [path("", include("sparkout.web.urls"))]
