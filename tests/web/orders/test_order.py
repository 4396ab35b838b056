"""What an order says of itself, and what of a process that read files is believed."""

import os
from pathlib import Path

import pytest

from ridelog.web.orders.order import Far, Order, Wanted, result


@pytest.mark.parametrize("far", [Far("reading"), Far("measuring", 3, 12), Far("writing", 2, 3)])
def test_how_far_it_is_goes_through_a_message(far):
    assert Far.heard(far.message()) == far


@pytest.mark.parametrize(
    "message",
    [b"", b"{}", b"[1, 2, 3]", b'["measuring", 1]', b'["<b>", 0, 0]', b'["measuring", -1, 2]', b'["measuring", 1e9, 2]',
     b'["measuring", "1", 2]', b'["measuring", NaN, 2]', b"\xff"],
)  # fmt: skip
def test_nonsense_is_passed_over(message):
    assert Far.heard(message) is None


def test_a_file_is_one_that_was_made(tmp_path):
    order = Order("t", "v", "v", Wanted("plan", "T", result, ()), tmp_path)
    order.made_folder.mkdir()
    for name in ("plan.json", "other"):
        (order.made_folder / name).write_text("{}")
    order.told = {"files": ["plan.json"]}
    assert order.made("plan.json") == tmp_path / "made" / "plan.json"
    for name in ("other", "../made/plan.json", "", ".."):
        assert order.made(name) is None
    assert order.path == "/plan/t"
    assert order.size_bytes() == 4


@pytest.mark.parametrize("listing", [1, 2])
@pytest.mark.parametrize(("gone", "left"), [("made", 4), ("made/deep", 8), ("made/b", 8)])
def test_its_size_is_told_while_it_is_being_made(tmp_path, monkeypatch, gone, left, listing):
    """What makes it removes a file or a folder just after it was listed, for the first or the second time."""
    folder = tmp_path / "order"
    order = Order("t", "v", "v", Wanted("plan", "T", result, ()), folder)
    (order.made_folder / "deep").mkdir(parents=True)
    for name in ("a", "made/b", "made/deep/c"):
        (folder / name).write_text("four")
    listed, times = os.scandir, []

    def scandir(path):
        with listed(path) as entries:
            found = list(entries)
        if folder / gone in map(Path, found):
            times.append(path)
            if len(times) == listing:
                (folder / gone).rename(tmp_path / "gone")
        return Listed(found)

    monkeypatch.setattr(os, "scandir", scandir)
    assert order.size_bytes() == (left if len(times) >= listing else 12)


class Listed:
    """Entries of a folder, as the system lists them."""

    def __init__(self, entries):
        self._left = iter(entries)

    def __iter__(self):
        return self

    def __next__(self):
        return next(self._left)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass


def test_a_result_names_what_was_written(tmp_path):
    (tmp_path / "b").write_text("")
    (tmp_path / "a").write_text("")
    (message,) = result(lambda _said: None, Path(tmp_path), title="T")
    assert message == b'{"title": "T", "files": ["a", "b"]}'
