import shutil
import sys
import time
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.urls import reverse

from shop import journal, roles, server, sign_in_links
from shop.models import User

HOST = "127.0.0.1"

# Invented people, one a role; more may come with the demo shop.
PEOPLE = (
    ("demo_counter", "Demo Counter", "DC", roles.COUNTER),
    ("demo_tech", "Demo Tech", "DT", roles.TECH),
    ("demo_owner", "Demo Owner", "DO", roles.OWNER),
)


class Command(BaseCommand):
    help = "Serve an invented shop on this machine. What is typed stays until --fresh."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1 (%(default)s)")
        parser.add_argument("--fresh", action="store_true", help="start over: forget what was typed")
        parser.add_argument("--yes", action="store_true", help="with --fresh: do not ask")
        parser.add_argument("--days", type=int, default=366, help="how far back the invented tickets go (%(default)s)")
        parser.add_argument("--no-serve", action="store_true", help="load the data, print the links, and stop")

    def handle(self, *args, port, fresh, yes, days, no_serve, **options):
        if connection.vendor != "sqlite":
            raise CommandError("The demo keeps to a file of its own. Unset DATABASE_URL, then start it again.")
        if not no_serve and not server.port_is_free(HOST, port):
            raise CommandError(f"Port {port} is taken, perhaps by a demo that still runs. Another: --port {port + 1}")
        if fresh and loaded_mark().exists() and not (yes or self.agreed()):
            raise CommandError("Nothing was changed.")
        if fresh or not loaded_mark().exists():
            self.load_all(days)
        else:
            call_command("migrate", verbosity=0, interactive=False)
            journal.seal_older()
        self.step("Pages and drawings", server.collect_static)
        self.print_links(port)
        connection.close()
        if not no_serve:
            server.become_gunicorn(f"{HOST}:{port}", "--log-level", "warning")

    def agreed(self):
        if not sys.stdin.isatty():
            raise CommandError("--fresh forgets what was typed into the demo. A script says so with --yes.")
        return input("Start over, and forget what was typed into the demo? [y/N] ").strip().lower() in ("y", "yes")

    def load_all(self, days):
        forget()
        self.step("Database", call_command, "migrate", verbosity=0, interactive=False)
        self.step("People", make_people)
        self.step("Catalogue", call_command, "load_catalogue", stdout=self.stdout)
        self.step("Demo shop", call_command, "load_demo_shop", days=days, stdout=self.stdout)
        # Last: an interrupted load starts over.
        loaded_mark().touch()

    def step(self, name, work, *args, **kwargs):
        self.stdout.write(f"{name} ...")
        self.stdout.flush()
        start = time.monotonic()
        work(*args, **kwargs)
        self.stdout.write(f"{name}: done in {time.monotonic() - start:.1f} s")

    def print_links(self, port):
        address = f"http://{HOST}:{port}"
        self.stdout.write(f"\nHullbench, with an invented shop: {address}\nSign in as\n")
        for role in roles.ROLES:
            user = User.objects.filter(role=role, is_active=True).order_by("pk").first()
            path = reverse("sign_in_link", args=[sign_in_links.make_link(user)])
            self.stdout.write(f"  {role:8} {address}{path}")
        self.stdout.write("\nThe links open this demo to whoever has them. Stop it with Ctrl-C.")


def loaded_mark() -> Path:
    return settings.DATA_DIR / "loaded"


def make_people():
    for username, name, initials, role in PEOPLE:
        User.objects.create_user(username, name=name, initials=initials, role=role)


def forget():
    """Remove everything that the demo keeps but its secret key."""
    connection.close()
    loaded_mark().unlink(missing_ok=True)
    database = Path(settings.DATABASES["default"]["NAME"])
    for suffix in ("", "-journal", "-wal", "-shm"):
        database.with_name(database.name + suffix).unlink(missing_ok=True)
    for folder in (settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH):
        shutil.rmtree(folder, ignore_errors=True)
