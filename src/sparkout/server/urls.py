"""All addresses of the server."""

from django.urls import include, path

from sparkout.web.api.door import api

handler400, handler403 = "sparkout.web.shell.pages.not_understood", "sparkout.web.shell.pages.forbidden"
handler404, handler500 = "sparkout.web.shell.pages.not_found", "sparkout.web.shell.pages.broken"

urlpatterns = [path("api/1/", api.urls), path("", include("sparkout.web.urls"))]
