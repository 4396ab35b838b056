"""Arguments -> the same functions that Python users call -> standard output."""

from ridelog.cli.main import main, run

__all__ = ["main", "run"]
