#!/usr/bin/env python3
"""Hullbench's one entrance: `python3 manage.py demo`, `python3 manage.py test`, and every other command."""

import os
import sys

from shop import environment


def main():
    environment.enter(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
