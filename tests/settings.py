"""The shop's own settings, as the demo has them, with the slow and the outward parts made quick and inward."""

import os
import tempfile

os.environ.setdefault("HULLBENCH_DATA", tempfile.mkdtemp(prefix="hullbench-test-"))
os.environ["HULLBENCH_DEMO"] = "1"
os.environ["HULLBENCH_TIME_ZONE"] = "UTC"

from shop.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # noqa: F405  (whitenoise warns where the folder is missing)
