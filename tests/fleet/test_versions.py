"""Which versions of ridelog answer alike?"""

import pytest

from ridelog import __version__
from ridelog.fleet import versions
from ridelog.fleet.versions import ANSWERS_SINCE, answers_alike, code_digest


@pytest.mark.parametrize(
    ("version", "since", "alike"),
    [
        ("0.3.1", "0.3.0", True),
        ("0.3.0", "0.3.0", True),
        ("0.2.9", "0.3.0", False),
        ("0.10.0", "0.9.0", True),  # by numbers, not by letters
        ("1.0.0", "0.3.0", True),  # a later one stays as it is
        ("", "0.3.0", False),
        ("what", "0.3.0", False),
    ],
)
def test_a_ride_is_measured_again_only_if_an_earlier_version_measured_it(version, since, alike):
    assert answers_alike(version, since) is alike


def test_this_version_answers_as_itself():
    assert answers_alike(__version__, ANSWERS_SINCE)


def test_any_module_that_is_other_changes_the_digest_of_the_code(tmp_path, monkeypatch):
    monkeypatch.setattr(versions, "__file__", str(tmp_path / "ridelog" / "fleet" / "versions.py"))
    module = tmp_path / "ridelog" / "fleet" / "history" / "figure.py"
    module.parent.mkdir(parents=True)
    seen = set()
    for text in ("x = 1", "x = 2"):
        module.write_text(text)
        code_digest.cache_clear()
        seen.add(code_digest())
    (module.parent / "__pycache__").mkdir()
    (module.parent / "__pycache__" / "figure.pyc").write_bytes(b"x")
    code_digest.cache_clear()
    seen.add(code_digest())
    code_digest.cache_clear()
    assert len(seen) == 2
