"""Data of others: what is kept here has its source and licence beside it; a test of what may not be is skipped."""

import re

import pytest

from tests import places
from tests.places import REFERENCE

FOLDERS = sorted(path for path in REFERENCE.iterdir() if path.is_dir())


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_data_of_others_is_kept_with_its_source_and_the_text_of_its_licence(folder):
    about = (folder / "PROVENANCE.md").read_text(encoding="utf-8")
    data = [path for path in folder.iterdir() if path.suffix not in (".md", ".txt")]
    assert data
    assert [path.name for path in data if f"`{path.name}`" not in about] == []
    licences = re.findall(r"`([./\w-]*LICENSE[\w.-]*)`", about)
    assert licences
    assert all((folder / name).is_file() for name in licences)


def test_what_may_not_be_kept_here_is_skipped_in_one_sentence(monkeypatch, tmp_path):
    monkeypatch.setattr(places, "ROOT", tmp_path)
    with pytest.raises(pytest.skip.Exception) as caught:
        places.others_recording("fit/ride.fit")
    assert str(caught.value) == (
        "fit/ride.fit is a recording that may not be kept in this repository, and it is not on this computer"
    )
