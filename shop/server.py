"""Starting gunicorn, for the demo and for the shop alike."""

import hashlib
import os
import socket
import sys
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command

from shop import printing

# Papers hold a thread each while a printer has them; the rest are always there for pages.
PAGE_THREADS = 2
THREADS = PAGE_THREADS + printing.MOST_AT_ONCE + printing.MOST_WAITING
# A worker that is forked just as the master is told to stop misses the signal; after this long it is ended.
GRACE_S = 5


def collect_static():
    """Bring STATIC_ROOT up to date; a second start with the same files does nothing."""
    stamp = Path(settings.STATIC_ROOT) / "collected.sha256"
    found = sorted(
        (name, os.stat(storage.path(name)).st_mtime_ns, os.stat(storage.path(name)).st_size)
        for finder in get_finders()
        for name, storage in finder.list(ignore_patterns=[])
    )
    digest = hashlib.sha256(repr(found).encode()).hexdigest()
    if stamp.exists() and stamp.read_text() == digest:
        return
    call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    stamp.write_text(digest)


def port_is_free(host: str, port: int) -> bool:
    with socket.socket() as probe:
        # As gunicorn does: a port whose last connections are still closing is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


def become_gunicorn(bind: str, *options: str):
    """Turn this process into gunicorn's master: ctrl-C and kill reach it, and it ends its workers itself."""
    sys.stdout.flush()
    sys.stderr.flush()
    command = [sys.executable, "-m", "gunicorn", "shop.wsgi:application", "--bind", bind, "--preload"]
    command += ["--workers", str(os.cpu_count() or 1), "--threads", str(THREADS)]
    command += ["--graceful-timeout", str(GRACE_S), "--no-control-socket"]
    command += ["--logger-class", "shop.access_log.AccessLogger", *options]
    os.chdir(settings.BASE_DIR)
    os.execv(sys.executable, command)
