"""The server as a WSGI application, for waitress or any other."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "sparkout.server.settings")
application = get_wsgi_application()
