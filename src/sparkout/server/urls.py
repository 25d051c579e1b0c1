"""All addresses of the server."""

from django.urls import include, path

from sparkout.web.api.door import api

urlpatterns = [path("api/1/", api.urls), path("", include("sparkout.web.urls"))]
