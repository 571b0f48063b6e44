"""The door for a WSGI server: `gunicorn slabwright.office.wsgi`."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

# A job's matrices are small: several threads on one of them only wait for each other.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "slabwright.office.settings")
application = get_wsgi_application()
