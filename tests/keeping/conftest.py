import shutil
import tempfile
from pathlib import Path

import pytest

from tests import machine
from tests.cluster import Cluster
from tests.keeping.shops import Shop


@pytest.fixture(scope="session")
def places():
    """A folder for the folders of shops."""
    with tempfile.TemporaryDirectory(prefix="hullbench-test-", dir=machine.memory()) as folder:
        yield Path(folder)


@pytest.fixture
def place(places):
    """A folder of the test's own."""
    return Path(tempfile.mkdtemp(dir=places))


@pytest.fixture(scope="session")
def made(places):
    """A small shop on SQLite, made once; copy it before it is changed."""
    shop = Shop(places / "made")
    shop.tickets = shop.script("make")
    return shop


@pytest.fixture
def shop(made, place):
    """A shop on SQLite of the test's own."""
    return made.copy(place / "data")


@pytest.fixture(scope="session")
def cluster():
    """A PostgreSQL server whose data survive a kill, as a shop's do."""
    programs = machine.postgres_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server here")
    cluster = Cluster(programs, options=("listen_addresses=", "max_connections=200"), place=machine.memory())
    try:
        cluster.start()
        yield cluster
        cluster.stop()
    finally:
        cluster.remove()


@pytest.fixture
def empty_database(cluster, request):
    """The address of an empty database of the test's own."""
    name = f"shop{abs(hash(request.node.nodeid)) % 10**9}"
    cluster.create(name)
    return cluster.url(name)


@pytest.fixture(scope="session")
def made_on_postgres(cluster, made, places):
    """The same small shop on PostgreSQL, to be copied."""
    cluster.create("made")
    folder = places / "made_on_postgres"
    shutil.copytree(made.folder, folder)
    (folder / "hullbench.sqlite3").unlink()
    shop = Shop(folder, cluster.url("made"))
    shop.tickets = shop.script("make")
    return shop


@pytest.fixture
def shop_on_postgres(cluster, made_on_postgres, place, request):
    name = f"copy{abs(hash(request.node.nodeid)) % 10**9}"
    cluster.create(name, like="made")
    shutil.copytree(made_on_postgres.folder, place / "on_postgres")
    return Shop(place / "on_postgres", cluster.url(name))


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def either(request):
    """A shop of the test's own, on each database."""
    return request.getfixturevalue("shop" if request.param == "SQLite" else "shop_on_postgres")
