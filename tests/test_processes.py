"""Processes of our own begin with one thread each, and what was set before is set again."""

import os

from ridelog.processes import context, one_thread


def test_within_a_process_has_one_thread_and_afterwards_what_it_had(monkeypatch):
    monkeypatch.setenv("OMP_NUM_THREADS", "3")
    monkeypatch.delenv("MKL_NUM_THREADS", raising=False)
    with one_thread():
        assert os.environ["OMP_NUM_THREADS"] == os.environ["MKL_NUM_THREADS"] == "1"
    assert os.environ["OMP_NUM_THREADS"] == "3"
    assert "MKL_NUM_THREADS" not in os.environ


def test_processes_are_never_forked_from_one_with_threads():
    assert context().get_start_method() in ("forkserver", "spawn")
