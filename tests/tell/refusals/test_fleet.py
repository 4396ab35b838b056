"""What keeps an audit from being done, in words; tests/fleet/test_workers.py meets it."""

from ridelog.tell.refusals import fleet


def test_each_says_what_to_do():
    assert fleet.no_dask().lines()[1] == 'hint: pip install "ridelog[cluster]"'
    assert fleet.no_scheduler("tcp://x:1").lines()[0] == "tcp://x:1: no Dask scheduler answers there"
