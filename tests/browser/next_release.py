"""Settings of an invented next release: its static files lie where the test has put them."""

import os

from curelog.settings import *  # noqa: F403

STATICFILES_DIRS = [os.environ["NEXT_RELEASE_STATIC"]]
