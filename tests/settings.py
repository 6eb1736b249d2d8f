"""The shop's own settings, as the demo has them, with the slow and the outward parts made quick and inward."""

import os
import tempfile

from tests import machine

# Kept by its name, so that the folder goes when the run ends.
FOLDER = tempfile.TemporaryDirectory(prefix="hullbench-test-", dir=machine.memory(), ignore_cleanup_errors=True)
os.environ["HULLBENCH_DATA"] = FOLDER.name
os.environ["HULLBENCH_DEMO"] = "1"
os.environ["HULLBENCH_TIME_ZONE"] = "UTC"

from shop.settings import *

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
# whitenoise warns where the folder is missing
STATIC_ROOT.mkdir(parents=True, exist_ok=True)
# A connection that outlives its request would keep a test database from being removed.
DATABASES["default"]["CONN_MAX_AGE"] = 0
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, as the shop has one: threads that share a database in memory share its transactions too.
    DATABASES["default"]["TEST"] = {"NAME": f"{FOLDER.name}/tests.sqlite3"}
