import gc
import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
application = get_wsgi_application()

# What is loaded by now stays. The collector need not go through it after every few pages, nor the workers copy it;
# a page of a long ticket makes some ten thousand objects, hardly any of them garbage in a ring.
gc.collect()
gc.freeze()
gc.set_threshold(50_000, 10, 10)
