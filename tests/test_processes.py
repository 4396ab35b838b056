"""Processes of our own begin with one thread each, and what was set before is set again."""

import os
import subprocess
import sys

import pytest

from ridelog.processes import context, one_thread
from tests.places import ROOT


def test_within_a_process_has_one_thread_and_afterwards_what_it_had(monkeypatch):
    monkeypatch.setenv("OMP_NUM_THREADS", "3")
    monkeypatch.delenv("MKL_NUM_THREADS", raising=False)
    with one_thread():
        assert os.environ["OMP_NUM_THREADS"] == os.environ["MKL_NUM_THREADS"] == "1"
    assert os.environ["OMP_NUM_THREADS"] == "3"
    assert "MKL_NUM_THREADS" not in os.environ


def test_processes_are_never_forked_from_one_with_threads():
    assert context().get_start_method() in ("forkserver", "spawn")


@pytest.mark.skipif(context().get_start_method() == "spawn", reason="processes speak to each other otherwise here")
def test_a_folder_for_temporary_files_with_too_long_a_path_is_told_in_a_sentence_before_any_address(tmp_path):
    """Paths of sockets may have 107 bytes (man 7 unix); the page said where it opens, and ended in a traceback."""
    long = tmp_path / ("x" * 120)
    long.mkdir()
    command = [sys.executable, str(ROOT / "app.py"), "--port", "0"]
    ended = subprocess.run(
        command, capture_output=True, text=True, env={**os.environ, "TMPDIR": str(long)}, timeout=120, check=False
    )
    assert (ended.returncode, ended.stdout) == (2, "")
    told, hint = ended.stderr.splitlines()
    assert told.startswith(f"{long}: processes cannot speak to each other")
    assert hint.startswith("hint: set TMPDIR to")
    assert list(long.iterdir()) == []
