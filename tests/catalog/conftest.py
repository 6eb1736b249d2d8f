import json

import pytest

from catalog import exchange
from tests.shipped import put_catalogue


@pytest.fixture
def loaded(db):
    """The shipped catalogue, in the database."""
    put_catalogue()


@pytest.fixture(scope="session")
def shipped():
    """The shipped files, each as its list of records."""
    return {name: json.loads((exchange.CATALOGUE / f"{name}.json").read_text()) for name in exchange.FILES}
