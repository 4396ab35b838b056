"""``python -m ridelog`` is the command ``ridelog``."""

from ridelog.cli import run

run()
