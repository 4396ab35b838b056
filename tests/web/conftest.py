"""A page on two sample rides that are measured at once, for the tests of its server."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from ridelog.answer.ride import Answer
from ridelog.web import create_app


@pytest.fixture
def samples(tmp_path: Path) -> Path:
    """Two sample rides, of which the second in the alphabet comes first in order."""
    for slug, order in (("alpha", 2), ("beta", 1)):
        folder = tmp_path / slug
        folder.mkdir()
        (folder / "log.csv").write_text("x")
        (folder / "bike.toml").write_text("[bike]\n")
        (folder / "about.toml").write_text(
            f'title = "Ride {slug}"\nsentence = "S"\nfiles = ["log.csv"]\nbike = "bike.toml"\norder = {order}\n'
        )
    return tmp_path


@pytest.fixture
def client(samples: Path, make_answer: Callable[..., Answer]) -> Iterator[FlaskClient]:
    """What a visitor's browser can ask of the page."""
    app = create_app(samples, measure=lambda _given: (make_answer(n=50), ()))
    with app.server.test_client() as client:
        yield client
