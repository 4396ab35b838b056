"""Files of a folder are of the bike whose file is nearest above them."""

import pytest

from ridelog.web.jobs.measuring import is_map
from ridelog.web.tray.homes import by_home, plain_folders

MAP = b'[[column]]\nheader = "A"\n'


@pytest.mark.parametrize(
    ("name", "folders"),
    [
        ("log.csv", ()),
        ("all/heron/log.csv", ("all", "heron")),
        ("../..//./etc/log.csv", ("etc",)),
        ("C:\\rides\\log.csv", ("C:", "rides")),
        ("a\x00b\n/log.csv", ("ab",)),
        (f"{'x/' * 50}log.csv", ("x",) * 12),
        (f"{'x' * 300}/log.csv", ("x" * 60,)),
    ],
)
def test_folders_of_a_name_lead_nowhere_else(name, folders):
    assert plain_folders(name) == folders


def test_each_file_is_of_the_bike_file_nearest_above_it(tmp_path):
    """A column map and a manifest make no bike's folder."""
    contents = {
        "log.csv": b"x", "all/log.csv": b"x", "all/m/map.toml": MAP, "all/m/log.csv": b"x",
        "all/heron/my bike.toml": b"[bike]\n", "all/heron/may/log.csv": b"x", "all/l/rides.toml": b"[[ride]]\n",
        "all/heron/may/old/bike.toml": b"[bike]\n", "all/heron/may/old/log.csv": b"x",
    }  # fmt: skip
    files = []
    for place, (name, content) in enumerate(contents.items()):
        (tmp_path / str(place)).write_bytes(content)
        files.append((name, tmp_path / str(place)))
    told = {each.home: [name for name, _ in each.files] for each in by_home(files, is_map)}
    assert told == {
        "": ["log.csv", "all/log.csv", "all/m/map.toml", "all/m/log.csv", "all/l/rides.toml"],
        "all/heron": ["my bike.toml", "may/log.csv"],
        "all/heron/may/old": ["bike.toml", "log.csv"],
    }
