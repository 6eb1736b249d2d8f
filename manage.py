#!/usr/bin/env python3
"""Hullbench's one entrance: `python3 manage.py demo`, `python3 manage.py test`, and every other command."""

import os
import sys

from shop import environment


def main():
    environment.enter(sys.argv)
    if sys.argv[1:2] == ["demo"]:
        # Before the settings are read: the demo has its own folder, and speaks plain http.
        os.environ["HULLBENCH_DEMO"] = "1"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
