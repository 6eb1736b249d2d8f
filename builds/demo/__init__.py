"""The demo shop: an invented year of tickets, made from the job sheets and their variations by a fixed seed.

Nobody in it exists. Every act goes through the actions at its own moment and in the order of time, so that journal,
quotes and estimates are what the program makes of them.
"""

from .writing import SEED, WHOLE_YEAR_DAYS, write_year

__all__ = ["SEED", "WHOLE_YEAR_DAYS", "write_year"]
