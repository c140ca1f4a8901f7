"""What every server of this app serves."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "curelog.settings")
# Pages are worked out side by side already. With threads of its own OpenBLAS lays half a megabyte a step of its
# recursion on the stack when it solves equations: more than a server's thread has, and the server would die of it.
os.environ["OPENBLAS_NUM_THREADS"] = "1"

application = get_wsgi_application()
