"""Several people at the same moment, each in a thread with a connection of its own."""

import threading

from django.db import connection


def all_at_once(acts):
    """Do the acts at once and return what each returned, or the sentence that refused it."""
    found, ready = [], threading.Barrier(len(acts))

    def do(act):
        try:
            ready.wait()
            found.append(act())
        except Exception as error:
            found.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=do, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found
