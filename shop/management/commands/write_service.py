from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop import environment

TEXTS = Path(settings.BASE_DIR) / "shop" / "running"
UNITS = {
    "hullbench.service": "service.ini",
    "hullbench-backup.service": "backup.ini",
    "hullbench-backup.timer": "timer.ini",
}


class Command(BaseCommand):
    help = "Write units for systemd that serve the shop shut in and back it up each night, or a Containerfile."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, nargs="?", help="where the files go; without it they are shown")
        parser.add_argument("--user", default="hullbench", help="who runs it (%(default)s)")
        parser.add_argument("--bind", default="127.0.0.1:8000", help="where it answers (%(default)s)")
        parser.add_argument("--container", action="store_true", help="a Containerfile instead of units")

    def handle(self, *args, folder, user, bind, container, **options):
        if container:
            texts = {"Containerfile": (TEXTS / "Containerfile").read_text()}
        else:
            facts = facts_of(user, bind)
            texts = {name: (TEXTS / source).read_text().format_map(facts) for name, source in UNITS.items()}
        if folder is None:
            self.stdout.write("\n".join(f"# {name}\n{text}" for name, text in texts.items()))
            return
        if there := [str(folder / name) for name in texts if (folder / name).exists()]:
            raise CommandError(f"{', '.join(there)}: there already. Nothing was written.")
        if not folder.is_dir():
            raise CommandError(f"There is no folder {folder}.")
        for name, text in texts.items():
            (folder / name).write_text(text)
            self.stdout.write(f"{folder / name}")


def facts_of(user: str, bind: str) -> dict[str, str]:
    data, backups = Path(settings.DATA_DIR).resolve(), Path(settings.BACKUPS_DIR).resolve()
    program = Path(settings.BASE_DIR).resolve()
    places = [str(data), *([] if backups.is_relative_to(data) else [str(backups)])]
    in_a_home = any(str(path).startswith(("/home/", "/root/")) for path in (data, backups, program))
    return {
        "user": user,
        "bind": bind,
        "data": str(data),
        "program": str(program),
        "python": str(environment.PYTHON),
        "writes": " ".join(places),
        # A program or data in a person's home can still be read there.
        "home": "read-only" if in_a_home else "yes",
    }
