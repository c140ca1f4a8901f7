"""The settings of the tests: the real ones, with a throw-away data folder and a quick password hasher."""

import os
import tempfile
from pathlib import Path

# Tests run side by side: threads of the algebra would only wait for each other.
os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["CURELOG_DATA"] = tempfile.mkdtemp(prefix="curelog-tests-")

from curelog.settings import *  # noqa: F403
from curelog.settings import DATABASES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # live_server shares the database between threads: a file, not memory.
    DATABASES["default"]["TEST"] = {"NAME": str(Path(os.environ["CURELOG_DATA"]) / "test.sqlite3")}
